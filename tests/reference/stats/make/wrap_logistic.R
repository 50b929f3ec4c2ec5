# Adds `se_converged` to ../expected/wrap_null_logistic.json and wrap_effect_logistic.json: standard
# errors of glm after iterating until nothing changes. The `se` beside them stop at epsilon 1e-12,
# where glm's weights, hence its standard errors, are still those of the step before: off by up to
# 2e-7. Run by hand from this folder: Rscript wrap_logistic.R
for (set in c("wrap_null", "wrap_effect")) {
  data <- read.csv(paste0("../data/", set, ".csv"))
  file <- paste0("../expected/", set, "_logistic.json")
  text <- paste(readLines(file), collapse = "\n")
  for (f in list(c("pooled_logistic_conditional", "done ~ wrapped + w + pit + stalled + k"), c("pooled_logistic_no_confounders", "done ~ wrapped + k"))) {
    model <- glm(as.formula(f[2]), binomial, data, control = glm.control(epsilon = 1e-12, maxit = 50))
    model <- glm(as.formula(f[2]), binomial, data, start = coef(model), control = glm.control(epsilon = 1e-300, maxit = 3))
    se <- paste(sprintf("%.17g", sqrt(diag(vcov(model)))), collapse = ",\n    ")
    text <- sub(paste0('"', f[1], '": {\n'), paste0('"', f[1], '": {\n   "se_converged": [\n    ', se, "\n   ],\n"), text, fixed = TRUE)
  }
  writeLines(text, file)
}
