//! Figures and pages from finished results; computes no statistic.
