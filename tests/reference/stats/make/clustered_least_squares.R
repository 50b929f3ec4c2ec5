# Makes ../expected/clustered_least_squares.json from mixed_unbalanced.csv.
# Run by hand from this folder: Rscript clustered_least_squares.R
suppressMessages(library(sandwich))
source("json.R")
data <- read.csv("../data/mixed_unbalanced.csv")
model <- lm(y ~ x + kind + altitude, data)
emit("clustered_least_squares", "mixed_unbalanced.csv: own synthetic data, clusters of unequal size", "lm; vcovCL(cluster, type = HC1, cadjust = TRUE); vcovHC type HC3",
  c("sandwich"), 1e-9, list(coef = I(coef(model)), clusters = length(unique(data$place)), cluster_vcov = unname(vcovCL(model, data$place, type = "HC1", cadjust = TRUE)),
    hc3_vcov = unname(vcovHC(model, "HC3"))))
text <- readLines("../expected/clustered_least_squares.json")
writeLines(sub('"data": .*', '"data": ["data/mixed_unbalanced.csv"],', text), "../expected/clustered_least_squares.json")
