# Makes ../data/logistic.csv and ../expected/logistic.json.
# Run by hand from this folder: Rscript logistic.R
# Weighted and clustered outcomes; one term (spiced) that no outcome of zero has, for Firth's penalty.
suppressMessages({library(sandwich); library(brglm2)})
source("json.R")

set.seed(4077)
rows <- 70
fire <- sample(1:14, rows, replace = TRUE)
x <- round(rnorm(rows, 20, 6), 1)
wood <- sample(c("ash", "elm", "oak"), rows, replace = TRUE)
log_odds <- -4 + 0.18 * x + c(ash = 0, elm = 0.8, oak = -0.5)[wood] + rnorm(14, 0, 0.7)[fire]
done <- rbinom(rows, 1, plogis(log_odds))
spiced <- ifelse(done == 1, rbinom(rows, 1, 0.25), 0)
weight <- round(runif(rows, 0.3, 2.5), 2)
weight[c(7, 30)] <- 0
data <- data.frame(done, x, wood, spiced, weight, fire)
write.csv(data, "../data/logistic.csv", row.names = FALSE, quote = FALSE)
data <- read.csv("../data/logistic.csv")
data$wood <- factor(data$wood)

control <- glm.control(epsilon = 1e-15, maxit = 100)
describe <- function(model, fire) {
  list(coef = I(coef(model)), loglik = sum(model$prior.weights * log(ifelse(model$y == 1, fitted(model), 1 - fitted(model)))),
    vcov = vcov(model), sandwich_vcov = sandwich(model), cluster_vcov = vcovCL(model, fire, type = "HC0", cadjust = TRUE))
}
plain <- glm(done ~ x + wood, binomial, data, control = control)
weighted <- suppressWarnings(glm(done ~ x + wood, binomial, subset(data, weight > 0), weights = weight, control = control))
firth <- glm(done ~ x + wood + spiced, binomial, data, method = "brglmFit", type = "AS_mean", epsilon = 1e-13, maxit = 10000)
information <- solve(vcov(firth))
new <- data.frame(x = c(5, 20, 35), wood = factor(c("ash", "elm", "oak")))
band <- predict(plain, new, se.fit = TRUE)
response <- predict(plain, new, type = "response", se.fit = TRUE)
results <- list(
  terms = c("(intercept)", "x", "wood[elm]", "wood[oak]", "spiced"),
  plain = describe(plain, data$fire),
  weighted = describe(weighted, data$fire[data$weight > 0]),
  firth = list(coef = I(coef(firth)), vcov = vcov(firth), loglik = as.numeric(logLik(firth)),
    penalized_loglik = as.numeric(logLik(firth)) + 0.5 * as.numeric(determinant(information)$modulus)),
  predictions = list(x = I(new$x), wood = I(as.character(new$wood)), log_odds = I(unname(band$fit)), log_odds_se = I(unname(band$se.fit)),
    probability = I(unname(response$fit)), probability_se = I(unname(response$se.fit))))
emit("logistic", "own synthetic data: weighted outcomes in 14 clusters", "glm(family = binomial), epsilon 1e-15; sandwich; vcovCL with the factor G/(G - 1); Firth's penalty by brglmFit(type = AS_mean), covariance from the plain information",
  c("sandwich", "brglm2"), 1e-8, results)
