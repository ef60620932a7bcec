# Fit one case with lme4, and judge c1 … against c0 by lmerTest (Satterthwaite) and pbkrtest (Kenward-Roger).
# Rscript fit.R CASE ...  writes "quantity name value" lines to standard output; versions.txt holds the versions, by hand:
# Rscript -e 'for (p in c("lme4","lmerTest","pbkrtest")) cat(p, as.character(packageVersion(p)), "\n")'
suppressPackageStartupMessages({library(lme4); library(lmerTest); library(pbkrtest)})
for (case in commandArgs(trailingOnly = TRUE)) {
  cat("case", case, "0\n")
  d <- read.csv(file.path(case, "record.csv"), stringsAsFactors = TRUE)
  model <- readLines(file.path(case, "model.txt"))
  d$level <- d$level - mean(d$level)   # the search of lme4 stops at a share of the level
  control <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-11, maxfun = 1e6), calc.derivs = FALSE)
  fit <- suppressMessages(lmerTest::lmer(as.formula(paste("level ~", model[1], "+", model[2])), d, REML = TRUE, control = control))
  say <- function(quantity, name, value) cat(quantity, name, sprintf("%.12g", value), "\n")
  v <- as.data.frame(VarCorr(fit))
  for (i in seq_len(nrow(v))) say("sd", v$grp[i], v$sdcor[i])
  X <- getME(fit, "X")
  say("loglik_invariant", "-", as.numeric(logLik(fit)) + as.numeric(determinant(crossprod(X))$modulus) / 2)
  b <- fixef(fit)
  adjusted <- as.matrix(vcovAdj(fit))
  wires <- grep("^candidate", names(b))
  L <- matrix(0, length(wires) - 1, length(b))
  for (i in seq_len(nrow(L))) {
    L[i, wires[1]] <- -1
    L[i, wires[i + 1]] <- 1
    name <- sub("candidate", "", names(b)[wires[i + 1]])
    l <- L[i, ]
    say("estimate", name, sum(l * b))
    say("se_plain", name, sqrt(as.numeric(l %*% as.matrix(vcov(fit)) %*% l)))
    say("se_kr", name, sqrt(as.numeric(l %*% adjusted %*% l)))
    say("df_kr", name, Lb_ddf(l, as.matrix(vcov(fit)), vcovAdj(fit)))
    say("df_satterthwaite", name, contest1D(fit, l)$df)
  }
  for (rows in unique(list(nrow(L), min(2, nrow(L))))) {
    joint <- KRmodcomp(fit, L[seq_len(rows), , drop = FALSE])$test["Ftest", ]
    name <- if (rows == nrow(L)) "joint" else "joint_of_two"
    say(name, "F", joint$stat)
    say(name, "ndf", joint$ndf)
    say(name, "ddf", joint$ddf)
    say(name, "scale", joint$F.scaling)
  }
  if (any(v$sdcor == 0)) {   # what is left when the component is dropped
    plain <- lm(as.formula(paste("level ~", model[1])), d)
    for (i in seq_len(nrow(L))) {
      name <- sub("candidate", "", names(b)[wires[i + 1]])
      say("se_dropped", name, sqrt(as.numeric(L[i, ] %*% vcov(plain) %*% L[i, ])))
    }
    say("df_dropped", "-", plain$df.residual)
  }
}
