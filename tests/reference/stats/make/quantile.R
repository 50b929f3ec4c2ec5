# Makes ../expected/quantile.json from data that are there already: mixed_unbalanced.csv with several
# terms, ordinal.csv with outcomes full of ties, engel.csv for bootstrap standard errors.
# Run by hand from this folder: Rscript quantile.R
suppressMessages(library(quantreg))
source("json.R")

several <- read.csv("../data/mixed_unbalanced.csv"); several$kind <- factor(several$kind)
tied <- read.csv("../data/ordinal.csv"); tied$wood <- factor(tied$wood)
engel <- read.csv("../data/engel.csv")
loss <- function(m, tau) { r <- resid(m); sum(r * (tau - (r < 0))) }
# The rank interval by its definition, without a walk: the coefficient held at a value, the others
# refitted; bisection for the jump at which |T| passes the limit, and for the jump before it.
jump_end <- function(X, y, j, tau, sense) {
  limit <- qt(0.95, nrow(X) - ncol(X))
  rest <- resid(lm(X[, j] ~ X[, -j] - 1))
  statistic <- function(value) abs(sum(rest * (rq.fit.br(X[, -j, drop = FALSE], y - value * X[, j], tau = tau)$dual - (1 - tau))) / sqrt(tau * (1 - tau) * sum(rest^2)))
  centre <- rq.fit.br(X, y, tau = tau)$coefficients[j]
  step <- abs(centre) * 0.05 + 1e-3
  while (statistic(centre + sense * step) < limit) step <- step * 2
  bisect <- function(inner, outer, beyond) { for (i in 1:60) { m <- (inner + outer) / 2; if (beyond(m)) outer <- m else inner <- m }; outer }
  outer <- bisect(centre, centre + sense * step, function(v) statistic(v) >= limit)
  little <- sense * abs(outer) * 1e-9
  before <- statistic(outer - little); after <- statistic(outer + little)
  inner <- bisect(centre, outer - little, function(v) abs(statistic(v) - before) < 1e-9)
  inner + (outer - inner) * (limit - before) / (after - before)
}
one <- function(tau) {
  model <- rq(y ~ x + kind + altitude, tau = tau, data = several)
  se <- function(kind) I(summary(model, se = kind)$coefficients[, 2])
  rank <- rq.fit.br(model.matrix(~ x + kind + altitude, several), several$y, tau = tau, alpha = 0.1, ci = TRUE, iid = TRUE)$coefficients
  ends <- function(sense) suppressWarnings(I(vapply(1:5, function(j) unname(jump_end(model.matrix(~ x + kind + altitude, several), several$y, j, tau, sense)), 0)))
  list(tau = tau, jump_lower = ends(-1), jump_upper = ends(1), coef = I(coef(model)), check_loss = loss(model, tau), loglik = as.numeric(logLik(model)), iid_se = se("iid"), nid_se = se("nid"),
    rank_lower = I(rank[, 2]), rank_upper = I(rank[, 3]))
}
ties <- function(tau) { m <- suppressWarnings(rq(score ~ x + wood, tau = tau, data = tied)); list(tau = tau, check_loss = loss(m, tau)) }
# Clusters of engel: runs of five rows, resampled whole.
cluster <- (seq_len(nrow(engel)) - 1) %/% 5
resample <- function(tau, whole) {
  set.seed(6)
  X <- cbind(1, engel$income); y <- engel$foodexp; rows <- split(seq_along(y), if (whole) cluster else seq_along(y))
  draws <- replicate(4000, { i <- unlist(rows[sample(length(rows), replace = TRUE)]); suppressWarnings(rq.fit.br(X[i, ], y[i], tau))$coefficients })
  I(apply(draws, 1, sd))
}
results <- list(
  several_25 = one(0.25), several_50 = one(0.5), several_90 = one(0.9),
  ties_20 = ties(0.2), ties_50 = ties(0.5), ties_80 = ties(0.8),
  engel_pairs_se = resample(0.5, FALSE), engel_cluster_se = resample(0.5, TRUE))
emit("quantile", "mixed_unbalanced.csv, ordinal.csv (own synthetic data), engel.csv (Koenker & Bassett 1982)", "rq by br; summary.rq se iid and nid; rank inversion (iid) at 90 percent; bootstraps with 4000 draws",
  c("quantreg"), 1e-8, results)
text <- readLines("../expected/quantile.json")
writeLines(sub('"data": .*', '"data": ["data/mixed_unbalanced.csv", "data/ordinal.csv", "data/engel.csv"],', text), "../expected/quantile.json")
