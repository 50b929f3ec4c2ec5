# Makes the data and the expected figures of survival_rows, cox_firth, competing_ends,
# interval_times. Run by hand from this folder: Rscript survival.R
# Needs R with survival and cmprsk (both in Debian). Numbers are written with 17 digits.
suppressMessages({library(survival); library(cmprsk)})
software <- sprintf("%s; survival %s; cmprsk %s", R.version.string, packageVersion("survival"), packageVersion("cmprsk"))

show <- function(v, indent = "") {
  if (is.null(v)) return("null")
  if (is.list(v)) {
    inner <- paste0(indent, " ")
    fields <- vapply(names(v), function(name) sprintf('%s"%s": %s', inner, name, show(v[[name]], inner)), "")
    return(paste0("{\n", paste(fields, collapse = ",\n"), "\n", indent, "}"))
  }
  if (is.matrix(v)) return(paste0("[", paste(apply(v, 1, function(row) show(I(unname(row)))), collapse = ", "), "]"))
  text <- if (is.character(v)) paste0('"', v, '"') else ifelse(is.na(v), "null", sprintf("%.17g", v))
  if (length(v) == 1 && !inherits(v, "AsIs")) text else paste0("[", paste(text, collapse = ", "), "]")
}
emit <- function(set, source, method, rtol, results, notes = NULL) {
  file <- list(id = set, data = I(sprintf("data/%s.csv", set)), source = source, method = method,
    software = software, suggested_rtol = rtol, notes = notes, results = results)
  writeLines(show(file), sprintf("../expected/%s.json", set))
}
save <- function(set, data) {
  file <- sprintf("../data/%s.csv", set)
  write.csv(data, file, row.names = FALSE, quote = FALSE)
  read.csv(file)
}

## Start-stop rows with weights, ties, strata and three groups ------------------------------------
set.seed(4711)
n <- 60
rows <- do.call(rbind, lapply(seq_len(n), function(i) {
  enter <- if (runif(1) < .4) sample(0:6, 1) else 0
  group <- sample(1:3, 1); stratum <- sample(1:2, 1); x <- round(rnorm(1), 2)
  end <- enter + ceiling(rexp(1, .06 * exp(.5 * x + .4 * (group == 3))))
  died <- as.integer(end <= 25); end <- min(end, 25)
  cut <- if (end - enter > 2 && runif(1) < .5) enter + floor((end - enter) / 2) else NA
  base <- data.frame(id = i, group, stratum, x, weight = sample(c(.5, 1, 1.5, 2.25), 1))
  if (is.na(cut)) return(cbind(base, start = enter, stop = end, event = died, z = round(rnorm(1), 2)))
  rbind(cbind(base, start = enter, stop = cut, event = 0L, z = round(rnorm(1), 2)),
    cbind(base, start = cut, stop = end, event = died, z = round(rnorm(1), 2)))
}))
rows <- save("survival_rows", rows)
exact <- coxph.control(eps = 1e-13, toler.chol = 1e-14, iter.max = 60)
curve <- function(fit, new, times) {
  s <- summary(survfit(fit, new, se.fit = TRUE), times = times, extend = TRUE)
  list(surv = I(c(s$surv)), std_err = I(c(s$std.err)))
}
new <- data.frame(x = .7, z = -.3)
cox <- list()
for (ties in c("efron", "breslow")) {
  m <- coxph(Surv(start, stop, event) ~ x + z, rows, weights = weight, ties = ties, control = exact, robust = FALSE)
  r <- coxph(Surv(start, stop, event) ~ x + z, rows, weights = weight, ties = ties, control = exact, cluster = id)
  s <- coxph(Surv(start, stop, event) ~ x + z + strata(stratum), rows, ties = ties, control = exact)
  at <- c(2, 5, 9, 14, 20, 24)
  every <- survfit(m, rows[, c("x", "z")], se.fit = FALSE)
  # Mean curve of all rows; its standard error by numerical derivatives is not in R.
  mean_curve <- vapply(at, function(t) mean(summary(every, times = t)$surv), 0)
  cox[[ties]] <- list(coef = I(unname(coef(m))), vcov = vcov(m), loglik = m$loglik[2],
    robust_vcov = unname(vcov(r)),
    strata_coef = I(unname(coef(s))), strata_vcov = unname(vcov(s)), strata_loglik = s$loglik[2],
    times = I(at), curve = curve(m, new, at), robust_curve = curve(r, new, at),
    strata_curve = curve(s, data.frame(new, stratum = 2), at), mean_curve = I(mean_curve),
    martingale = I(unname(resid(m, "martingale"))), deviance = I(unname(resid(m, "deviance"))),
    score = unname(resid(m, "score")), dfbeta = unname(resid(m, "dfbeta", weighted = TRUE)))
}
km <- survfit(Surv(start, stop, event) ~ 1, rows, weights = weight, robust = FALSE)
late <- survfit(Surv(start, stop, event) ~ 1, rows)
whole <- rows[!duplicated(rows$id, fromLast = TRUE), ]
whole$duration <- whole$stop
rank <- function(formula, ...) { s <- survdiff(formula, whole, ...)
  o <- if (is.matrix(s$obs)) rowSums(s$obs) else s$obs; e <- if (is.matrix(s$exp)) rowSums(s$exp) else s$exp
  list(observed = I(unname(o)), expected = I(unname(e)), var = s$var, chisq = s$chisq) }
emit("survival_rows", "own synthetic data: 60 subjects in start-stop rows, late entry, tied times, weights",
  "coxph to eps 1e-13, survfit of it, residuals; survfit of the rows (weights as frequencies, robust off); survdiff of the last row of each subject without its start",
  1e-8, list(cox = cox,
    km_weighted = list(time = I(km$time), n_risk = I(km$n.risk), n_event = I(km$n.event), surv = I(km$surv), std_err = I(km$surv * km$std.err), cumhaz = I(km$cumhaz)),
    km = list(time = I(late$time), n_risk = I(late$n.risk), surv = I(late$surv), std_err = I(late$surv * late$std.err)),
    logrank = rank(Surv(duration, event) ~ group), logrank_strata = rank(Surv(duration, event) ~ group + strata(stratum)),
    peto = rank(Surv(duration, event) ~ group, rho = 1), peto_strata = rank(Surv(duration, event) ~ group + strata(stratum), rho = 1)),
  "curve: x 0.7, z -0.3; std_err of the survival probability; strata_curve is stratum 2. Matrices row by row.")

## Firth's penalty ---------------------------------------------------------------------------------
# The penalised likelihood is maximised here by itself: coxph evaluates likelihood and information
# at fixed coefficients, a Newton iteration on numerical derivatives finds the maximum.
set.seed(815)
firth <- data.frame(time = c(3, 5, 5, 7, 8, 10, 11, 10, 13, 15, 17, 20, 22, 25, 25, 28),
  event = c(1, 1, 1, 0, 1, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1),
  a = c(1, 1, 1, 1, 1, 1, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0), b = round(rnorm(16), 2))
firth <- save("cox_firth", firth)
penalised <- function(beta, formula, data, ties) {
  m <- suppressWarnings(coxph(formula, data, init = beta, ties = ties, control = coxph.control(iter.max = 0)))
  m$loglik[1] - .5 * as.numeric(determinant(m$var)$modulus)
}
# Five-point derivatives; steps of 1e-2 keep rounding and truncation below 1e-9.
solve_firth <- function(formula, data, ties, k) {
  f <- function(b) penalised(b, formula, data, ties)
  b <- rep(0, k); h <- 1e-2; u <- diag(k) * h
  gradient <- function(b) vapply(seq_len(k), function(j) (8 * (f(b + u[, j]) - f(b - u[, j])) - (f(b + 2 * u[, j]) - f(b - 2 * u[, j]))) / (12 * h), 0)
  gradient6 <- function(b) vapply(seq_len(k), function(j) (45 * (f(b + u[, j]) - f(b - u[, j])) - 9 * (f(b + 2 * u[, j]) - f(b - 2 * u[, j])) + (f(b + 3 * u[, j]) - f(b - 3 * u[, j]))) / (60 * h), 0)
  for (i in 1:60) {
    g <- gradient6(b)
    H <- matrix(vapply(seq_len(k), function(j) (gradient(b + u[, j]) - gradient(b - u[, j])) / (2 * h), rep(0, k)), k)
    step <- solve((H + t(H)) / 2, g); b <- b - step
    if (max(abs(step)) < 1e-12) break
  }
  m <- suppressWarnings(coxph(formula, data, init = b, ties = ties, control = coxph.control(iter.max = 0)))
  list(coef = I(b), vcov = unname(m$var), loglik = f(b), loglik_null = f(rep(0, k)))
}
emit("cox_firth", "own data of 16 rows whose first term separates the events",
  "maximum of log partial likelihood + log|information|/2 (Heinze & Schemper 2001) by Newton on numerical derivatives of values from coxph",
  1e-7, list(efron = solve_firth(Surv(time, event) ~ a + b, firth, "efron", 2),
    breslow = solve_firth(Surv(time, event) ~ a + b, firth, "breslow", 2),
    single = solve_firth(Surv(time, event) ~ a, firth, "efron", 1)),
  "Numerical derivatives limit the coefficients to about 1e-8. vcov: inverse information without penalty.")

## Competing ends ----------------------------------------------------------------------------------
set.seed(99)
m <- 80
ends <- data.frame(time = ceiling(rexp(m, .08)), end = sample(0:2, m, TRUE, c(.25, .45, .3)), group = sample(1:2, m, TRUE))
ends <- save("competing_ends", ends)
ci <- cuminc(ends$time, ends$end)
at <- c(1, 2, 4, 7, 11, 18, 26)
points <- timepoints(ci, at)
aj <- survfit(Surv(time, factor(end)) ~ 1, ends)
byjack <- summary(aj, times = at, extend = TRUE)
emit("competing_ends", "own synthetic data: two kinds of end and censoring, tied times",
  "cmprsk::cuminc for the incidence; survival::survfit (Aalen-Johansen) for incidence and standard error", 1e-8,
  list(time = I(at), incidence_1 = I(unname(points$est[1, ])), incidence_2 = I(unname(points$est[2, ])),
    survfit_1 = I(byjack$pstate[, 2]), survfit_2 = I(byjack$pstate[, 3]),
    jackknife_se_1 = I(byjack$std.err[, 2]), jackknife_se_2 = I(byjack$std.err[, 3])),
  "end 0 is censored")

## Interval-censored times -------------------------------------------------------------------------
set.seed(2718)
n <- 70
x <- round(rnorm(n), 2)
t <- exp(2.2 + .4 * x + .5 * log(rexp(n)))
kind <- sample(c("exact", "interval", "right", "left"), n, TRUE, c(.3, .45, .15, .1))
gap <- ceiling(t / 3)
lower <- ifelse(kind == "exact", round(t, 1), ifelse(kind == "interval", floor(t / gap) * gap, ifelse(kind == "right", ceiling(t * runif(n, .3, .9)), -Inf)))
upper <- ifelse(kind == "exact", round(t, 1), ifelse(kind == "interval", floor(t / gap) * gap + gap, ifelse(kind == "right", Inf, ceiling(t * runif(n, 1.1, 2)))))
lower[lower == 0] <- -Inf
times <- save("interval_times", data.frame(lower, upper, x, cluster = rep(1:14, 5), weight = sample(c(.5, 1, 2), n, TRUE)))
lo <- ifelse(is.finite(times$lower), times$lower, NA); hi <- ifelse(is.finite(times$upper), times$upper, NA)
y <- Surv(lo, hi, type = "interval2")
control <- survreg.control(rel.tolerance = 1e-15, maxiter = 500)
# residuals(type = "dfbeta") of survreg 3.5.3 are wrong for interval-censored rows (they are not the
# derivatives of its own likelihood), so scores are taken here by seven-point differences.
contribution <- function(p, dist) {
  logged <- !(dist %in% c("gaussian", "logistic"))
  scale <- if (length(p) > 2) exp(p[3]) else 1
  place <- p[1] + p[2] * times$x
  z <- function(t) (suppressWarnings(if (logged) ifelse(t <= 0, -Inf, log(t)) else t) - place) / scale
  low <- z(times$lower); high <- z(times$upper)
  above <- switch(dist, weibull = , exponential = function(z) exp(-exp(z)),
    lognormal = , gaussian = function(z) pnorm(z, lower.tail = FALSE), function(z) plogis(z, lower.tail = FALSE))
  density <- switch(dist, weibull = , exponential = function(z) z - exp(z),
    lognormal = , gaussian = function(z) dnorm(z, log = TRUE), function(z) dlogis(z, log = TRUE))
  ifelse(times$lower == times$upper, density(low) - log(scale), log(above(low) - above(high)))
}
scores <- function(p, dist) vapply(seq_along(p), function(j) {
  at <- function(step) { q <- p; q[j] <- q[j] + step * 1e-3; contribution(q, dist) }
  (45 * (at(1) - at(-1)) - 9 * (at(2) - at(-2)) + (at(3) - at(-3))) / 6e-2
}, rep(0, nrow(times)))
models <- list()
for (dist in c("weibull", "exponential", "lognormal", "loglogistic", "gaussian", "logistic")) {
  m <- survreg(y ~ x, times, dist = dist, control = control)
  w <- survreg(y ~ x, times, dist = dist, control = control, weights = weight)
  score <- scores(c(coef(m), if (dist != "exponential") log(m$scale)), dist)
  stopifnot(max(abs(colSums(score))) < 1e-6)
  r <- list(var = crossprod(rowsum(score %*% m$var, times$cluster)))
  models[[dist]] <- list(coef = I(unname(coef(m))), scale = m$scale, loglik = m$loglik[2], vcov = unname(m$var),
    weighted_coef = I(unname(coef(w))), weighted_scale = w$scale, cluster_vcov = unname(r$var))
}
# Turnbull: survfit stops early, so self-consistency is iterated here until it stands still.
turnbull <- function(lower, upper, weight) {
  # Bounds in order; an exact time is [t, t], all others (lower, upper].
  ends <- rbind(data.frame(t = lower, side = ifelse(lower == upper, 0, 2)), data.frame(t = upper, side = 1))
  point <- function(t, side) paste(t, side)
  ends <- unique(ends[order(ends$t, ends$side), ])
  left <- ends$side != 1
  k <- which(left[-nrow(ends)] & !left[-1])
  q <- ends$t[k]; closed <- ends$side[k] == 0; p <- ends$t[k + 1]
  inside <- function(i) (lower[i] < upper[i] & q >= lower[i] & !(closed & q == lower[i]) & p <= upper[i]) | (lower[i] == upper[i] & q == lower[i] & p == upper[i])
  A <- t(vapply(seq_along(lower), inside, logical(length(q)))) + 0
  mass <- rep(1 / length(q), length(q)); total <- sum(weight)
  for (i in 1:2000000) {
    d <- drop(t(A) %*% (weight / drop(A %*% mass)))
    new <- mass * d / total
    if (max(abs(new - mass)) < 1e-15) break
    mass <- new
  }
  list(from = I(ifelse(is.finite(q), q, NA)), to = I(ifelse(is.finite(p), p, NA)), mass = I(mass), loglik = sum(weight * log(A %*% mass)), kkt = max(d / total) - 1, iterations = i)
}
one <- rep(1, n)
np <- survfit(y ~ 1)
at <- c(3, 5, 8, 12, 20)
s <- vapply(at, function(t) min(c(1, np$surv[np$time <= t])), 0)
emit("interval_times", "own synthetic data: exact, interval-, left- and right-censored times",
  "survreg to rel.tolerance 1e-15; Turnbull's estimator by self-consistency iterated to a standstill; survfit(type interval2) for comparison", 1e-7,
  list(survreg = models, turnbull = turnbull(times$lower, times$upper, one), turnbull_weighted = turnbull(times$lower, times$upper, times$weight),
    survfit_time = I(at), survfit_surv = I(s)),
  "vcov for intercept, x, log(scale); cluster_vcov by numerical scores, without small-sample factor. Turnbull intervals run from..to, null is infinite.")
