# Makes ../expected/meta.json and ../data/meta.csv. Run by hand from this folder: Rscript meta.R
# Needs R with metafor. Numbers are written with 17 digits.
suppressPackageStartupMessages(library(metafor))
source("json.R")

bcg <- escalc(measure = "RR", ai = tpos, bi = tneg, ci = cpos, di = cneg, data = dat.bcg)
sets <- list(
  bcg = data.frame(y = as.numeric(bcg$yi), v = as.numeric(bcg$vi)),
  kacker = data.frame(y = c(61.0, 61.4, 62.21, 62.3, 62.34, 62.6, 62.7, 62.84, 65.9),
                      v = c(0.2025, 1.2100, 0.0900, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225)),
  agreeing = data.frame(y = c(4.0, 5.0, 4.5, 4.2), v = c(4.0, 9.0, 1.0, 2.25)),
  three = data.frame(y = c(-12.0, 8.0, 1.0), v = c(16.0, 9.0, 25.0)))
rows <- do.call(rbind, lapply(names(sets), function(set)
  data.frame(set = set, y = sprintf("%.17g", sets[[set]]$y), se = sprintf("%.17g", sqrt(sets[[set]]$v)))))
write.csv(rows, "../data/meta.csv", row.names = FALSE, quote = FALSE)
control <- list(threshold = 1e-14, maxiter = 100000, stepadj = 0.5)
of <- function(set) {
  fit <- function(test) rma(y, v, data = sets[[set]], method = "REML", test = test, control = control)
  plain <- fit("knha"); floored <- fit("adhoc"); normal <- fit("z")
  k <- floored$k
  # Higgins, Thompson & Spiegelhalter: t of k - 2, which metafor itself does not use.
  reach <- qt(0.95, k - 2) * sqrt(floored$tau2 + floored$se^2)
  b <- as.numeric(floored$beta)
  ci <- b + c(-1, 1) * qt(0.95, k - 1) * floored$se
  list(tau2 = plain$tau2, estimate = b, factor = (plain$se / normal$se)^2, se_knha = plain$se,
    se_adhoc = floored$se, ci90 = ci, new90 = c(b - reach, b + reach),
    weights = as.numeric(weights(plain)) / 100)
}
results <- lapply(names(sets), of)
names(results) <- names(sets)
emit("meta",
  paste("bcg: thirteen trials of a vaccine, Colditz et al. 1994, JAMA 271, 698-702, log risk ratios;",
    "kacker: Paule & Mandel 1982, J. Res. NBS 87, 377-385, as in Kacker 2004, Metrologia 41, 132-136;",
    "agreeing, three: made up, the former without any scatter between studies"),
  "rma(method = \"REML\", test = \"knha\" and \"adhoc\"); the interval of a new study by qt(k - 2)",
  "metafor", 1e-8, results)
