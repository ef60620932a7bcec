# Time lme4, and pbkrtest for every contrast, on one record: Rscript mixed_kernel.R FOLDER REPEATS JUDGE
# FOLDER holds y.bin, swap.bin, candidate.bin, block.bin, minute.bin as little-endian doubles.
suppressPackageStartupMessages({library(lme4); library(pbkrtest)})
args <- commandArgs(trailingOnly = TRUE)
read <- function(name) {
  path <- file.path(args[1], paste0(name, ".bin"))
  readBin(path, "double", file.size(path) / 8)
}
d <- data.frame(y = read("y"), swap = factor(read("swap")), candidate = factor(read("candidate")),
                block = factor(read("block")), minute = read("minute"))
for (i in seq_len(as.integer(args[2]))) {
  start <- sum(proc.time()[1:2])
  fit <- lmer(y ~ 0 + candidate + block + block:minute + (1 | swap), d)
  if (args[3] == "yes") {
    plain <- vcov(fit)
    adjusted <- vcovAdj(fit)
    for (k in 2:nlevels(d$candidate)) {
      l <- rep(0, length(fixef(fit)))
      l[1] <- -1
      l[k] <- 1
      df <- Lb_ddf(l, plain, adjusted)
    }
  }
  cat("seconds", sum(proc.time()[1:2]) - start, "\n")
}
cat("megabytes", sum(gc()[, 6]), "\n")
