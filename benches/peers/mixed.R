# The data of pipeline/stats/benches/mixed.rs, fitted with lme4, one core. Run in the same minute:
#   cargo bench -p stats --bench mixed
#   OPENBLAS_NUM_THREADS=1 OMP_NUM_THREADS=1 Rscript benches/peers/mixed.R
# Needs R with lme4 (Debian: r-cran-lme4). Drawing the data takes a while and is not timed.
suppressMessages(library(lme4))
state <- 20261
uniform <- function() { state <<- (state * 16807) %% 2147483647; state / 2147483647 }
normal <- function() { sum <- 0; for (i in 1:12) sum <- sum + uniform(); sum - 6 }
first <- vapply(1:1000, function(i) 3 * normal(), 0)
second <- vapply(1:100, function(i) 2 * normal(), 0)
rows <- 1e5
x <- z <- y <- numeric(rows)
fire <- cook <- integer(rows)
for (i in 1:rows) {
  fire[i] <- as.integer(uniform() * 1000) + 1L
  cook[i] <- as.integer(uniform() * 100) + 1L
  x[i] <- normal()
  z[i] <- uniform()
  y[i] <- 5 + 2 * x[i] - z[i] + first[fire[i]] + second[cook[i]] + 4 * normal()
}
data <- data.frame(x, z, y, fire, cook)
cat(R.version.string, "lme4", format(packageVersion("lme4")), "\n")
time <- function(name, formula) {
  # Seconds of this process, not of the clock: other work on the machine does not count.
  seconds <- vapply(1:5, function(i) sum(system.time(model <<- lmer(formula, data))[c("user.self", "sys.self")]), 0)
  cat(sprintf("%s: median %.3f s of 5; log-likelihood %.9f, variances %s\n", name, median(seconds),
    as.numeric(logLik(model)), paste(signif(as.data.frame(VarCorr(model))$vcov, 10), collapse = " ")))
}
time("1 000 groups", y ~ x + z + (1 | fire))
time("1 000 groups crossed with 100", y ~ x + z + (1 | fire) + (1 | cook))
