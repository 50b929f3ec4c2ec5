# Times coxph of R's survival package on data of the same make as pipeline/stats/benches/survival.rs:
# 20,000 subjects seen five times, five covariates, 100,000 rows (start, stop].
# Rscript benches/peers/cox.R, beside `cargo bench -p stats --bench survival`; one core each.
suppressMessages(library(survival))
set.seed(1)
subjects <- 20000
visits <- 5
rows <- subjects * visits
x <- matrix(rnorm(rows * 5), rows)
begin <- rep(2 * (seq_len(visits) - 1), subjects)
wait <- rexp(rows) / (.02 * exp(drop(x %*% c(.3, -.2, .1, 0, .5))))
data <- data.frame(id = rep(seq_len(subjects), each = visits), start = begin, stop = begin + pmin(wait, 2),
  event = as.integer(wait < 2), x)
cat(sprintf("%s, survival %s, %d events\n", R.version.string, packageVersion("survival"), sum(data$event)))
model <- Surv(start, stop, event) ~ X1 + X2 + X3 + X4 + X5
# The bare fitter gets a matrix, as ours does; coxph also reads the formula and builds the frame.
y <- Surv(data$start, data$stop, data$event)
bare <- function() agreg.fit(x, y, NULL, NULL, NULL, coxph.control(), NULL, "efron", seq_len(rows))
time <- function(what, expression) {
  call <- substitute(expression)
  frame <- parent.frame()
  seconds <- replicate(15, system.time(eval(call, frame))[["elapsed"]])
  cat(sprintf("%-28s median %.3f s, least %.3f s\n", what, median(seconds), min(seconds)))
}
time("coxph efron", coxph(model, data, ties = "efron"))
time("coxph efron, cluster(id)", coxph(model, data, ties = "efron", cluster = id))
time("agreg.fit efron, no formula", bare())
time("survfit of the rows", survfit(Surv(start, stop, event) ~ 1, data))
