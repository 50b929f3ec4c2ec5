# Makes the data and the expected figures of survival_rows and interval_times.
# Run by hand from this folder: Rscript survival.R
# Needs R with survival (in Debian). Numbers are written with 17 digits.
suppressMessages(library(survival))
software <- sprintf("%s; survival %s", R.version.string, packageVersion("survival"))

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

## Start-stop rows with late entry and ties ------------------------------------
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
late <- survfit(Surv(start, stop, event) ~ 1, rows)
emit("survival_rows", "own synthetic data: 60 subjects in start-stop rows, late entry, tied times, weights",
  "survfit of the rows", 1e-8,
  list(km = list(time = I(late$time), n_risk = I(late$n.risk), surv = I(late$surv), std_err = I(late$surv * late$std.err))),
  "std_err of the survival probability.")

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
  place <- p[1] + p[2] * times$x
  z <- function(t) (suppressWarnings(if (dist == "lognormal") ifelse(t <= 0, -Inf, log(t)) else t) - place) / exp(p[3])
  low <- z(times$lower); high <- z(times$upper)
  above <- function(z) pnorm(z, lower.tail = FALSE)
  ifelse(times$lower == times$upper, dnorm(low, log = TRUE) - p[3], log(above(low) - above(high)))
}
scores <- function(p, dist) vapply(seq_along(p), function(j) {
  at <- function(step) { q <- p; q[j] <- q[j] + step * 1e-3; contribution(q, dist) }
  (45 * (at(1) - at(-1)) - 9 * (at(2) - at(-2)) + (at(3) - at(-3))) / 6e-2
}, rep(0, nrow(times)))
models <- list()
for (dist in c("lognormal", "gaussian")) {
  m <- survreg(y ~ x, times, dist = dist, control = control)
  score <- scores(c(coef(m), log(m$scale)), dist)
  stopifnot(max(abs(colSums(score))) < 1e-6)
  r <- list(var = crossprod(rowsum(score %*% m$var, times$cluster)))
  models[[dist]] <- list(coef = I(unname(coef(m))), scale = m$scale, loglik = m$loglik[2], vcov = unname(m$var),
    cluster_vcov = unname(r$var))
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
  list(survreg = models, turnbull = turnbull(times$lower, times$upper, one),
    survfit_time = I(at), survfit_surv = I(s)),
  "vcov for intercept, x, log(scale); cluster_vcov by numerical scores, without small-sample factor. Turnbull intervals run from..to, null is infinite.")
