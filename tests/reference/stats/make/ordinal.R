# Makes ../data/ordinal.csv and ../expected/ordinal.json.
# Run by hand from this folder: Rscript ordinal.R
# Scores 1 to 5 in clusters. polr optimises by differences of the likelihood; clm by Newton's method,
# so clm gives the digits and polr the second opinion.
suppressMessages({library(MASS); library(ordinal); library(sandwich)})
source("json.R")

set.seed(918)
rows <- 160
fire <- sample(1:15, rows, replace = TRUE)
x <- round(rnorm(rows, 95, 8), 1)
wood <- sample(c("ash", "elm", "oak"), rows, replace = TRUE)
latent <- 0.09 * (x - 95) + c(ash = 0, elm = 0.6, oak = -0.3)[wood] + rnorm(15, 0, 0.6)[fire] + rlogis(rows)
score <- 1 + (latent > -1.8) + (latent > -0.6) + (latent > 0.7) + (latent > 2)
weight <- sample(1:3, rows, replace = TRUE)
data <- data.frame(score, x, wood, weight, fire)
write.csv(data, "../data/ordinal.csv", row.names = FALSE, quote = FALSE)
data <- read.csv("../data/ordinal.csv")
data$wood <- factor(data$wood); data$score <- factor(data$score)

tight <- clm.control(gradTol = 1e-12, maxIter = 200)
model <- clm(score ~ x + wood, data = data, control = tight)
weighted <- clm(score ~ x + wood, data = data, weights = weight, control = tight)
# Centred and scaled, for polr's information is a difference over steps of 1e-3 in each coefficient.
data$z <- (data$x - 95) / 10
second <- polr(score ~ z + wood, data, Hess = TRUE, control = list(reltol = 1e-16, maxit = 1000))
unit <- c(10, 1, 1)
# The scores of the rows, written out: thresholds first, then slopes, for a model of thresholds less
# slopes.
scores <- function(m, w) {
  k <- as.integer(data$score); cut <- c(-Inf, coef(m)[1:4], Inf); X <- model.matrix(~ x + wood, data)[, -1]
  eta <- as.vector(X %*% coef(m)[5:7]); a <- cut[k + 1] - eta; b <- cut[k] - eta
  p <- plogis(a) - plogis(b); up <- dlogis(a) / p; down <- dlogis(b) / p
  S <- matrix(0, rows, 7)
  for (i in 1:rows) { if (k[i] <= 4) S[i, k[i]] <- up[i]; if (k[i] >= 2) S[i, k[i] - 1] <- S[i, k[i] - 1] - down[i] }
  S[, 5:7] <- -(up - down) * X
  S * w
}
describe <- function(m, w) {
  S <- scores(m, w); V <- vcov(m); G <- length(unique(data$fire))
  list(coef = I(unname(coef(m))), loglik = as.numeric(logLik(m)), vcov = unname(V), sandwich_vcov = unname(V %*% crossprod(S) %*% V),
    cluster_vcov = unname(V %*% crossprod(rowsum(S, data$fire)) %*% V * G / (G - 1)), largest_score = max(abs(colSums(S))))
}
# Brant's test written out: binary fits of score > j, their joint covariance, Wald statistic of equal
# slopes; all terms, then term by term.
brant <- function() {
  X <- model.matrix(~ x + wood, data); J <- 4; p <- 3; k <- as.integer(data$score)
  fits <- lapply(1:J, function(j) glm((k > j) ~ x + wood, binomial, data, control = glm.control(epsilon = 1e-15, maxit = 100)))
  pi <- sapply(fits, fitted)
  bread <- lapply(1:J, function(j) solve(crossprod(X, X * (pi[, j] * (1 - pi[, j])))))
  V <- matrix(0, J * p, J * p)
  for (j in 1:J) for (l in j:J) {
    block <- (bread[[j]] %*% crossprod(X, X * (pi[, l] - pi[, j] * pi[, l])) %*% bread[[l]])[-1, -1]
    V[(j - 1) * p + 1:p, (l - 1) * p + 1:p] <- block; V[(l - 1) * p + 1:p, (j - 1) * p + 1:p] <- t(block)
  }
  beta <- unlist(lapply(fits, function(f) coef(f)[-1]))
  D <- function(which) do.call(rbind, lapply(2:J, function(j) { d <- matrix(0, length(which), J * p); d[cbind(seq_along(which), which)] <- 1; d[cbind(seq_along(which), (j - 1) * p + which)] <- -1; d }))
  wald <- function(d) { b <- d %*% beta; as.numeric(t(b) %*% solve(d %*% V %*% t(d), b)) }
  list(chi2 = wald(D(1:3)), df = 9, chi2_by_term = I(vapply(1:3, function(i) wald(D(i)), 0)), df_by_term = 3)
}
probabilities <- predict(model, data.frame(x = c(80, 95, 110), wood = factor(c("ash", "elm", "oak"))), type = "prob")$fit
results <- list(
  terms = c("1|2", "2|3", "3|4", "4|5", "x", "wood[elm]", "wood[oak]"),
  plain = describe(model, 1), weighted = describe(weighted, data$weight),
  polr = list(coef = I(unname(coef(second) / unit)), loglik = as.numeric(logLik(second)),
    se = I(unname(sqrt(diag(vcov(second)))[1:3] / unit)), sandwich_se = I(unname(sqrt(diag(sandwich(second)))[1:3] / unit)),
    cluster_se = I(unname(sqrt(diag(vcovCL(second, data$fire, type = "HC0", cadjust = TRUE)))[1:3] / unit))),
  probabilities = unname(probabilities), brant = brant())
emit("ordinal", "own synthetic data: scores of 1 to 5 in 15 clusters", "clm, gradTol 1e-12; polr, reltol 1e-16; sandwich, cluster factor G/(G - 1); Brant's test written out with glm; vcov: thresholds, then slopes, row by row",
  c("ordinal", "MASS", "sandwich"), 1e-7, results)
