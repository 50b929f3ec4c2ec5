# What R's boot takes for 10 000 BCa resamples of the mean of 60 values, to set beside
# `cargo bench -p stats --bench bootstrap` in the same minute, on one core:
#   taskset -c 0 Rscript benches/peers/bootstrap.R
# Needs R with boot.
library(boot)

i <- 1:60
values <- 30 + (i * 37) %% 61 + 0.1 * ((i * i) %% 17)
statistic <- function(x, rows) mean(x[rows])
once <- function(seed) {
  set.seed(seed)
  result <- boot(values, statistic, R = 10000)
  boot.ci(result, conf = 0.95, type = "bca")$bca[4:5]
}
invisible(once(0))
seconds <- vapply(1:15, function(seed) system.time(once(seed))[["elapsed"]], 0)
ends <- once(1)
cat(sprintf("%s, boot %s: median %.1f ms of %d runs (%.1f to %.1f); interval %.4f to %.4f\n",
  R.version.string, packageVersion("boot"), 1000 * median(seconds), length(seconds),
  1000 * min(seconds), 1000 * max(seconds), ends[1], ends[2]))
