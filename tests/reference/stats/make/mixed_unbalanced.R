# Makes ../data/mixed_unbalanced.csv and ../expected/mixed_unbalanced.json.
# Run by hand from this folder: Rscript mixed_unbalanced.R
# Unbalanced groups: one grouping, one nested in another, two crossed ones of which few cells are
# filled; lme4 with a tight optimiser, degrees of freedom from lmerTest.
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
  model <- lmer(formula, data, REML = TRUE, control = control)
  table <- coef(summary(model))
  components <- as.data.frame(VarCorr(model))
  list(reml = list(loglik = as.numeric(logLik(model)), coef = I(fixef(model)), se = I(table[, "Std. Error"]),
    df = I(table[, "df"]), vcov = as.matrix(vcov(model)), groups = I(components$grp), variances = I(components$vcov)))
}
results <- list(
  terms = c("(intercept)", "x", "kind[point]", "kind[round]", "altitude"),
  single = one(y ~ x + kind + altitude + (1 | place)),
  nested = one(y ~ x + kind + altitude + (1 | place) + (1 | inner)),
  crossed = one(y ~ x + kind + altitude + (1 | place) + (1 | judge)))
emit("mixed_unbalanced", "own synthetic data: unbalanced groups", "lmer by bobyqa to rhoend 1e-11, summary by lmerTest; variances: the groupings, then the residual",
  c("lme4", "lmerTest"), 1e-6, results)
