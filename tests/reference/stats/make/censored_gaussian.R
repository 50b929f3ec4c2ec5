# Makes ../data/censored_gaussian.csv and ../expected/censored_gaussian.json.
# Run by hand from this folder: Rscript censored_gaussian.R
# Needs R with survival. Numbers are written with 17 digits.
suppressMessages(library(survival))

set.seed(20261)
fires <- 12
rows <- 40
fire <- rep(seq_len(fires), length.out = rows)
x <- round(runif(rows, 2, 9), 2)
wood <- sample(c("ash", "elm", "oak"), rows, replace = TRUE)
truth <- 40 + 12 * x + c(ash = 0, elm = -15, oak = 10)[wood] + rnorm(fires, 0, 12)[fire] + rnorm(rows, 0, 18)
limit <- runif(rows, 90, 170)
observed <- as.integer(truth <= limit)
y <- round(pmin(truth, limit), 2)
data <- data.frame(y, observed, x, wood, fire)
write.csv(data, "../data/censored_gaussian.csv", row.names = FALSE, quote = FALSE)

data <- read.csv("../data/censored_gaussian.csv")
control <- survreg.control(rel.tolerance = 1e-14, maxiter = 200)
fit <- function(...) survreg(Surv(y, observed) ~ x + wood, data, dist = "gaussian", control = control, ...)
model <- fit()
robust <- fit(robust = TRUE, cluster = fire)

numbers <- function(v) paste0("[", paste(sprintf("%.17g", v), collapse = ", "), "]")
terms <- c("(intercept)", "x", "wood[elm]", "wood[oak]", "log_scale")
json <- c(
  "{",
  ' "id": "censored_gaussian",',
  ' "data": ["data/censored_gaussian.csv"],',
  ' "source": "own synthetic data: right-censored outcomes in 12 clusters",',
  ' "method": "survreg(dist = \\"gaussian\\"), rel.tolerance 1e-14; robust = TRUE, cluster = fire for cluster_vcov (no small-sample factor)",',
  sprintf(' "software": "%s; survival %s",', R.version.string, packageVersion("survival")),
  ' "suggested_rtol": 1e-7,',
  ' "notes": "vcov is row by row for the coefficients, then log(scale).",',
  ' "results": {',
  sprintf('  "n": %d, "events": %d, "clusters": %d,', nrow(data), sum(data$observed), length(unique(data$fire))),
  sprintf('  "terms": [%s],', paste0('"', terms, '"', collapse = ", ")),
  sprintf('  "coef": %s,', numbers(coef(model))),
  sprintf('  "scale": %.17g,', model$scale),
  sprintf('  "loglik": %.17g,', model$loglik[2]),
  sprintf('  "vcov": %s,', numbers(model$var)),
  sprintf('  "cluster_vcov": %s', numbers(robust$var)),
  " }",
  "}")
writeLines(json, "../expected/censored_gaussian.json")
