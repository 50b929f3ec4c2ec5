//! How the numbers were estimated: what the methods section says after the definitions.

/// One part of the text, with the sources of its formulas.
pub(super) struct Method {
    pub(super) heading: &'static str,
    pub(super) paragraphs: &'static [&'static str],
    pub(super) sources: &'static [&'static str],
}

/// Every part, in order.
pub(super) const METHODS: &[Method] = &[
    Method {
        heading: "From a log to a curve",
        paragraphs: &[
            "Readings outside what a probe can have seen are left out, lone spikes are removed by a median filter, and the dip of a probe pulled at a wrap is bridged. What is left is smoothed by a state-space model whose slope is an integrated Wiener process, with the noise estimated from the log itself; the definition above is then applied to the smoothed curve. Intervals of 90 % come from curves drawn anew from that model.",
        ],
        sources: &[
            "Hampel, F. R. (1974). The influence curve and its role in robust estimation. Journal of the American Statistical Association 69, 383–393.",
            "Wahba, G. (1978). Improper priors, spline smoothing and the problem of guarding against model errors in regression. Journal of the Royal Statistical Society B 40, 364–372.",
        ],
    },
    Method {
        heading: "Lines, bands and effects",
        paragraphs: &[
            "Lines are least squares on the scale of minutes; standard errors hold without equal scatter (HC3), or are clustered by fire where several cooks share one (CR2, with Bell–McCaffrey degrees of freedom of their own; models of scores, of yes or no and of lower bounds by leaving out one fire at a time). Where fewer than five degrees of freedom bear on an effect, its interval also holds what a wild cluster bootstrap does not reject; below two none is given. An outcome with lower bounds among its values is fitted by maximum likelihood as right-censored. Intervals are 95 % unless a claim says otherwise. Where a line will not do, a restricted cubic spline is drawn.",
            "Fires and pits also get random intercepts in a linear mixed model, with Satterthwaite's degrees of freedom; fewer than six pits enter as fixed effects too. Verdicts rest on the intervals clustered by fire; what the other models would answer stands beside them.",
        ],
        sources: &[
            "MacKinnon, J. G. and White, H. (1985). Some heteroskedasticity-consistent covariance matrix estimators with improved finite sample properties. Journal of Econometrics 29, 305–325.",
            "Bell, R. M. and McCaffrey, D. F. (2002). Bias reduction in standard errors for linear regression with multi-stage samples. Survey Methodology 28, 169–181.",
            "Pustejovsky, J. E. and Tipton, E. (2018). Small-sample methods for cluster-robust variance estimation and hypothesis testing in fixed effects models. Journal of Business & Economic Statistics 36, 672–683.",
            "MacKinnon, J. G. (2023). Fast cluster bootstrap methods for linear regression models. Econometrics and Statistics 26, 52–71.",
            "Webb, M. D. (2023). Reworking wild bootstrap based inference for clustered errors. Canadian Journal of Economics 56, 839–858.",
            "Bates, D., Mächler, M., Bolker, B. and Walker, S. (2015). Fitting linear mixed-effects models using lme4. Journal of Statistical Software 67(1).",
            "Harrell, F. E. (2015). Regression Modeling Strategies, 2nd ed. Springer.",
            "Tobin, J. (1958). Estimation of relationships for limited dependent variables. Econometrica 26, 24–36.",
        ],
    },
    Method {
        heading: "What faster costs",
        paragraphs: &[
            "Scores are fitted by proportional-odds regression, in which only their order counts; more than ten different scores are merged into ten classes. Odds ratios are of a better score; differences of the expected score and of the chance of a good score are averaged over the cooks, each as it would be with the one and with the other treatment. Where a treatment tells scores apart without error, the odds are those of a good score, by logistic regression with Firth’s penalty. Yields are linear, costs linear in their logarithm. p values are also given allowing for all questions of the same kind.",
            "Temperatures of tenderness are known to lie between two probe tests, or on one side of one; their distribution is Turnbull’s, and a normal one by maximum likelihood.",
        ],
        sources: &[
            "McCullagh, P. (1980). Regression models for ordinal data. Journal of the Royal Statistical Society B 42, 109–142.",
            "Brant, R. (1990). Assessing proportionality in the proportional odds model for ordinal logistic regression. Biometrics 46, 1171–1178.",
            "Firth, D. (1993). Bias reduction of maximum likelihood estimates. Biometrika 80, 27–38.",
            "Benjamini, Y. and Hochberg, Y. (1995). Controlling the false discovery rate. Journal of the Royal Statistical Society B 57, 289–300.",
            "Turnbull, B. W. (1976). The empirical distribution function with arbitrarily grouped, censored and truncated data. Journal of the Royal Statistical Society B 38, 290–295.",
        ],
    },
    Method {
        heading: "Claims and verdicts",
        paragraphs: &[
            "A claim names the smallest difference anyone would act on. Its verdict compares that with an interval of level 1 − 0.10·s/m, m being the number of claims first seen in the same run and s the share of the year’s error that they have (0.6 for the first such run of a year, then 0.4 of the one before): each bound is a one-sided test at 5 %·s/m. A verdict is confirmed only on cooks that went on after that run and were not known in it; until then it says what past cooks say to someone who has already seen them.",
        ],
        sources: &[],
    },
    Method {
        heading: "Smoothing of measured logs",
        paragraphs: &[
            "The true curve is taken for a twice integrated Wiener process: its bend wanders, its slope integrates the bend, its value the slope; readings add independent noise. With a vague start the smoothed curve is the quintic smoothing spline, found in linear time by a Kalman filter and a backward pass. Noise and roughness come from the log itself, by marginal likelihood. Each stretch has a roughness of its own, drawn towards that of the whole log, so that a curve that is calm for hours and bends once is smoothed hard where it is calm and lightly at the bend.",
            "Outliers are met by Student’s t noise. They must come singly or a few in a row: a long burst may be followed as if it were the meat, and is taken out before.",
            "Where noise carries readings back and forth over the logger’s steps, rounding is noise of variance step²/12. Where it does not, the readings form a staircase, and each says only that the value lay within half a step of it; such intervals are kept as they are and met by expectation propagation.",
        ],
        sources: &[
            "Wahba, G. (1978). Improper priors, spline smoothing and the problem of guarding against model errors in regression. Journal of the Royal Statistical Society B 40, 364–372.",
            "Kohn, R. and Ansley, C. F. (1987). A new algorithm for spline smoothing based on smoothing a stochastic process. SIAM Journal on Scientific and Statistical Computing 8, 33–48.",
            "Lange, K. L., Little, R. J. A. and Taylor, J. M. G. (1989). Robust statistical modeling using the t distribution. Journal of the American Statistical Association 84, 881–896.",
        ],
    },
    Method {
        heading: "Shifts of a mean",
        paragraphs: &[
            "Shifts that the order of cooks supports are found by binary segmentation with a permutation test.",
        ],
        sources: &[],
    },
    Method {
        heading: "Strategies of wrapping",
        paragraphs: &[
            "Who wraps late has a meat that was slow for long enough to be wrapped late, and often wraps because of how things were going. To set early wraps against late ones as they turned out is wrong twice over: immortal time, and confounding by what happened on the way. So every cook keeps its own path up to where it left a strategy and is run on from its own state: ridge models foretell the dose of heat that the next degree of the core takes, one for degrees that are not wrapped and one for those that are (a parametric g-formula). Its interval is the estimate ± t(fires − 1) × standard error from a bootstrap over fires, with an error of the models that no number of cooks makes smaller.",
            "Beside it, and in its place where too few cooks went unwrapped, every cook is copied into both strategies; a copy is censored in the ten minutes in which its cook does something that its strategy forbids; and copies that stay are weighted by the inverse of the probability, given their history up to then, of having stayed, so that they stand for those that left.",
            "What this team’s habits say of a cook is learnt from fires other than its own, in ten parts: a model that had seen the cook would find what it did too probable, and leave confounding in. Weights are cut at the 99th percentile of their strategy.",
            "The effect is the difference of restricted mean times to the finish up to the horizon, first minus second; its interval is the estimate ± t(fires − 1) × standard error from a bootstrap over fires. Pulls that were tender before the finish count as finishes; pulls because time was up are censored. Both compete in the cumulative incidences.",
            "The weighted curve is that of all cooks under the strategy if the history that is logged holds all that decides both on the wrap and on the time, if every cook could have followed the strategy, if the models of the decisions are right, and if time running out or a log ending early tells nothing beyond that history.",
            "Two other answers stand beside it. One compares the cooks as they turned out, and is wrong for both reasons. The other takes a cook as wrapped from its wrap on, which mends immortal time alone: it is an association.",
        ],
        sources: &[
            "Robins, J. M. (1986). A new approach to causal inference in mortality studies with a sustained exposure period. Mathematical Modelling 7, 1393–1512.",
            "Hernán, M. A. and Robins, J. M. (2016). Using big data to emulate a target trial when a randomized trial is not available. American Journal of Epidemiology 183, 758–764.",
            "Cain, L. E. et al. (2010). When to start treatment? International Journal of Biostatistics 6(2), article 18.",
            "Maringe, C. et al. (2020). Reflection on modern methods: trial emulation in the presence of immortal-time bias. International Journal of Epidemiology 49, 1719–1729.",
            "Robins, J. M. and Finkelstein, D. M. (2000). Correcting for noncompliance and dependent censoring in an AIDS clinical trial with inverse probability of censoring weighted log-rank tests. Biometrics 56, 779–788.",
        ],
    },
    Method {
        heading: "Reductions of Salmonella",
        paragraphs: &[
            "The log-linear model of thermal death: at a temperature T a population falls to a tenth in D(T) = Dᵣ · 10^((Tᵣ − T)/z), so the reduction is ∫ dt/D(T).",
            "It says nothing of spores, of toxins formed before, of the surface, of meat that was pierced or injected, and it holds for the moist conditions of the table that it was fitted to. A number from it is no proof of anything: local food codes and licensed practice decide.",
        ],
        sources: &[
            "Bigelow, W. D. (1921). The logarithmic nature of thermal death time curves. Journal of Infectious Diseases 29, 528–536.",
        ],
    },
];
