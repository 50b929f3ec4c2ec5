# Makes ../data/mixed_unbalanced.csv and ../expected/mixed_unbalanced.json.
# Run by hand from this folder: Rscript mixed_unbalanced.R
# Unbalanced groups: one grouping, one nested in another, two crossed ones of which few cells are
# filled; lme4 with a tight optimiser, degrees of freedom from lmerTest, spread of parametric
# bootstrap draws from bootMer.
suppressMessages({library(lme4); library(lmerTest)})
source("json.R")

set.seed(731)
rows <- 120
place <- sample(1:9, rows, replace = TRUE, prob = 9:1)
batch <- sample(1:4, rows, replace = TRUE)
judge <- sample(1:7, rows, replace = TRUE)
x <- round(rnorm(rows, 50, 12), 1)
kind <- sample(c("flat", "point", "round"), rows, replace = TRUE)
altitude <- round(runif(9, 0, 20))[place]
y <- 200 + 1.5 * x + c(flat = 0, point = -12, round = 20)[kind] + 0.8 * altitude +
  rnorm(9, 0, 15)[place] + rnorm(36, 0, 10)[(place - 1) * 4 + batch] + rnorm(7, 0, 6)[judge] +
  rnorm(rows, 0, 9)
data <- data.frame(y = round(y, 2), x, kind, altitude, place, batch, judge)
write.csv(data, "../data/mixed_unbalanced.csv", row.names = FALSE, quote = FALSE)
data <- read.csv("../data/mixed_unbalanced.csv")
data$inner <- interaction(data$place, data$batch, drop = TRUE, lex.order = TRUE)
data$kind <- factor(data$kind)

control <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.1, rhoend = 1e-11, maxfun = 1e5))
one <- function(formula) {
  fit <- function(reml) {
    model <- lmer(formula, data, REML = reml, control = control)
    table <- coef(summary(model))
    components <- as.data.frame(VarCorr(model))
    list(loglik = as.numeric(logLik(model)), aic = AIC(model), bic = BIC(model), coef = I(fixef(model)),
      se = I(table[, "Std. Error"]), df = I(table[, "df"]), vcov = as.matrix(vcov(model)),
      groups = I(components$grp), variances = I(components$vcov),
      fitted = I(fitted(model)[1:10]))
  }
  list(reml = fit(TRUE), ml = fit(FALSE))
}
bootstrap <- function(formula) {
  model <- lmer(formula, data, REML = TRUE)
  spread <- function(m) c(fixef(m), as.data.frame(VarCorr(m))$vcov)
  draws <- bootMer(model, spread, nsim = 2000, seed = 5)$t
  list(sd = I(apply(draws, 2, sd)), mean = I(colMeans(draws)))
}
# A test of the variance between judges, and one of the effect of altitude, by drawing from the
# smaller model.
ratio_test <- function(small, large) {
  a <- lmer(small, data, REML = FALSE); b <- lmer(large, data, REML = FALSE)
  statistic <- as.numeric(2 * (logLik(b) - logLik(a)))
  draws <- vapply(1:1000, function(i) {
    y <- simulate(a, seed = i)[[1]]
    as.numeric(2 * (logLik(refit(b, y)) - logLik(refit(a, y))))
  }, 0)
  list(statistic = statistic, p = (1 + sum(draws >= statistic)) / 1001)
}
results <- list(
  terms = c("(intercept)", "x", "kind[point]", "kind[round]", "altitude"),
  single = one(y ~ x + kind + altitude + (1 | place)),
  nested = one(y ~ x + kind + altitude + (1 | place) + (1 | inner)),
  crossed = one(y ~ x + kind + altitude + (1 | place) + (1 | judge)),
  bootstrap_single = bootstrap(y ~ x + kind + altitude + (1 | place)),
  test_altitude = suppressMessages(ratio_test(y ~ x + kind + (1 | place), y ~ x + kind + altitude + (1 | place))),
  test_judge = suppressMessages(ratio_test(y ~ x + kind + altitude + (1 | place), y ~ x + kind + altitude + (1 | place) + (1 | judge))))
emit("mixed_unbalanced", "own synthetic data: unbalanced groups", "lmer by bobyqa to rhoend 1e-11, summary by lmerTest; variances: the groupings, then the residual; bootstrap by bootMer with 2000 draws, tests with 1000 draws from the smaller model",
  c("lme4", "lmerTest"), 1e-6, results)
