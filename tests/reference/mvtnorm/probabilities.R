# P(some |T_i| > c) (one-sided: some T_i > c) for the correlations of cases.json, by mvtnorm (Genz & Bretz).
# Run: Rscript probabilities.R cases.json probabilities.json [points]
# df 0 stands for the normal distribution, as in mvtnorm. The error is the one mvtnorm estimates (99 per cent).
suppressPackageStartupMessages({library(mvtnorm); library(jsonlite)})
args <- commandArgs(trailingOnly = TRUE)
points <- if (length(args) > 2) as.integer(args[3]) else 2000000L
cases <- fromJSON(args[1], simplifyDataFrame = FALSE)
set.seed(20240611)
rows <- list()
for (case in cases) for (df in case$df) for (level in case$levels) {
  r <- case$correlation
  m <- nrow(r)
  lower <- if (case$sides == 2) rep(-level, m) else rep(-Inf, m)
  p <- suppressWarnings(pmvt(lower = lower, upper = rep(level, m), df = df, corr = r,
                             algorithm = GenzBretz(maxpts = points, abseps = 2e-6)))
  rows[[length(rows) + 1]] <- list(name = case$name, df = df, level = level,
                                   tail = 1 - as.numeric(p), error = attr(p, "error"))
}
write(toJSON(list(R = R.version.string, mvtnorm = as.character(packageVersion("mvtnorm")), points = points,
                  rows = rows), auto_unbox = TRUE, digits = 10, pretty = TRUE), args[2])
