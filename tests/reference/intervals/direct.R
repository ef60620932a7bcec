# The interval likelihood with one random term by R's own adaptive integration and optimiser; nothing of antexp's.
# Run: Rscript direct.R > direct.json   (in this folder)
case <- read.csv("case.csv")
by_swap <- split(case, case$swap)

log_likelihood <- function(theta) {
  # theta: level, gap, slope per hour, log tau, log sigma
  tau <- exp(theta[4]); sigma <- exp(theta[5])
  sum(vapply(by_swap, function(rows) {
    mu <- theta[1] + theta[2] * rows$wire + theta[3] * rows$hours
    integrand <- function(u) vapply(u, function(one) {
      dnorm(one, 0, tau) * prod(pnorm((rows$high_db - mu - one) / sigma) - pnorm((rows$low_db - mu - one) / sigma))
    }, numeric(1))
    log(integrate(integrand, -9 * tau, 9 * tau, rel.tol = 1e-11, abs.tol = 0, subdivisions = 4000)$value)
  }, numeric(1)))
}
best <- function(start, fixed_gap = NULL) {
  full <- function(free) if (is.null(fixed_gap)) free else append(free, fixed_gap, after = 1)
  start <- if (is.null(fixed_gap)) start else start[-2]
  found <- nlminb(start, function(free) -log_likelihood(full(free)), control = list(rel.tol = 1e-13, x.tol = 1e-10))
  found <- nlminb(found$par, function(free) -log_likelihood(full(free)), control = list(rel.tol = 1e-13, x.tol = 1e-10))
  list(par = full(found$par), value = -found$objective)
}
start <- c(0, -0.9, 0, log(0.4), log(0.3))
top <- best(start)
gaps <- c(-2.0, -1.5, -0.3, 0, 0.4)
profile <- vapply(gaps, function(gap) best(top$par, gap)$value, numeric(1))
points <- rbind(c(0.1, -0.8, 0.2, log(0.4), log(0.3)), c(0, 0, 0, log(1.2), log(0.12)), c(0, -1, 0, log(0.02), log(0.5)))
at <- apply(points, 1, log_likelihood)
number <- function(x) paste0("[", paste(sprintf("%.10f", x), collapse = ", "), "]")
cat(sprintf('{\n "R": "%s",\n "date": "%s",\n', R.version.string, Sys.Date()))
cat(sprintf(' "points": [%s],\n', paste(apply(points, 1, number), collapse = ", ")))
cat(sprintf(' "log_likelihood_at_points": %s,\n', number(at)))
cat(sprintf(' "estimate": %s,\n "log_likelihood": %.10f,\n', number(top$par), top$value))
cat(sprintf(' "gaps": %s,\n "profile": %s\n}\n', number(gaps), number(profile)))
