# Makes ../expected/exchangeable_least_squares.json from mixed_unbalanced.csv.
# Run by hand from this folder: Rscript exchangeable_least_squares.R
# The working covariance is I + tau 11' within a place, tau = 0.7 whatever the data say.
suppressMessages(library(clubSandwich))
source("json.R")
data <- read.csv("../data/mixed_unbalanced.csv")
model <- lm(y ~ x + kind + altitude, data)
tau <- 0.7
target <- lapply(split(seq_len(nrow(data)), data$place), function(rows) diag(length(rows)) + tau)
vcov <- vcovCR(model, data$place, type = "CR2", target = target)
tests <- coef_test(model, vcov, test = "Satterthwaite")
emit("exchangeable_least_squares", "mixed_unbalanced.csv: own synthetic data, clusters of unequal size",
  "lm; vcovCR type CR2 with an exchangeable target, tau 0.7; coef_test Satterthwaite",
  c("clubSandwich"), 1e-8, list(tau = tau, coef = I(coef(model)), vcov = unname(as.matrix(vcov)), df = tests$df_Satt))
text <- readLines("../expected/exchangeable_least_squares.json")
writeLines(sub('"data": .*', '"data": ["data/mixed_unbalanced.csv"],', text), "../expected/exchangeable_least_squares.json")
