# Makes ../expected/scale_gaussian.json from ../data/censored_gaussian.csv.
# Run by hand from this folder: Rscript scale_gaussian.R
# Needs R with survival. Numbers are written with 17 digits.
suppressMessages(library(survival))

data <- read.csv("../data/censored_gaussian.csv")
data$oak <- as.integer(data$wood == "oak")
control <- survreg.control(rel.tolerance = 1e-14, maxiter = 200)
model <- survreg(Surv(y, observed) ~ x + oak + strata(oak), data, dist = "gaussian", control = control)

numbers <- function(v) paste0("[", paste(sprintf("%.17g", v), collapse = ", "), "]")
json <- c(
  "{",
  ' "id": "scale_gaussian",',
  ' "data": ["data/censored_gaussian.csv"],',
  ' "source": "own synthetic data: right-censored outcomes in 12 clusters; a scale for oak and one for all others",',
  ' "method": "survreg(dist = \\"gaussian\\") with strata, rel.tolerance 1e-14",',
  sprintf(' "software": "%s; survival %s",', R.version.string, packageVersion("survival")),
  ' "suggested_rtol": 1e-7,',
  ' "notes": "vcov is row by row for the coefficients, then log(scale) of the others and of oak.",',
  ' "results": {',
  sprintf('  "coef": %s,', numbers(coef(model))),
  sprintf('  "scale": %s,', numbers(model$scale)),
  sprintf('  "loglik": %.17g,', model$loglik[2]),
  sprintf('  "vcov": %s', numbers(model$var)),
  " }",
  "}")
writeLines(json, "../expected/scale_gaussian.json")
