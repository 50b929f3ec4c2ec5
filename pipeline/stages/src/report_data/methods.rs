//! How the numbers were estimated, in words: what a reader needs first, then what the code says of
//! itself, taken from its own documentation, so that the two cannot part.

use report::data::TextSection;

/// Modules whose documentation is shown, with a heading a reader understands.
const DOCUMENTED: [(&str, &str); 5] = [
    (
        "Smoothing of measured logs, as its code documents it",
        include_str!("../../../stats/src/smoother/mod.rs"),
    ),
    (
        "Shifts of a mean, as their code documents it",
        include_str!("../../../stats/src/mean_shifts.rs"),
    ),
    (
        "Strategies of wrapping, as their code documents it",
        include_str!("../../../stats/src/clone_censor_weight/mod.rs"),
    ),
    (
        "What a wrap-timing claim takes for granted, as its code documents it",
        include_str!("../../../study/src/analysis/wrap_timing/mod.rs"),
    ),
    (
        "Reductions of Salmonella, as their code documents it",
        include_str!("../../../physics/src/lethality.rs"),
    ),
];

/// How the numbers were estimated, for the report's methods section.
pub(super) fn methods() -> Vec<TextSection> {
    let section = |heading: &str, paragraphs: &[&str], sources: &[&str]| TextSection {
        heading: heading.into(),
        paragraphs: paragraphs.iter().map(|p| (*p).to_owned()).collect(),
        sources: sources.iter().map(|s| (*s).to_owned()).collect(),
    };
    let mut sections = vec![
        section(
            "From a log to a curve",
            &[
                "Readings outside what a probe can have seen are left out, lone spikes are removed by a median filter, and the dip of a probe pulled at a wrap is bridged. What is left is smoothed by a state-space model whose slope is an integrated Wiener process, with the noise estimated from the log itself; the definition above is then applied to the smoothed curve. Intervals of 90 % come from curves drawn anew from that model.",
            ],
            &[
                "Hampel, F. R. (1974). The influence curve and its role in robust estimation. Journal of the American Statistical Association 69, 383–393.",
                "Wahba, G. (1978). Improper priors, spline smoothing and the problem of guarding against model errors in regression. Journal of the Royal Statistical Society B 40, 364–372.",
            ],
        ),
        section(
            "Lines, bands and effects",
            &[
                "Lines are least squares on the scale of minutes; standard errors hold without equal scatter (HC3), or are clustered by fire where several cooks share one (CR2, with Bell–McCaffrey degrees of freedom of their own; models of scores, of yes or no and of lower bounds by leaving out one fire at a time). Where fewer than five degrees of freedom bear on an effect, its interval also holds what a wild cluster bootstrap does not reject; below two none is given. An outcome with lower bounds among its values is fitted by maximum likelihood as right-censored. Intervals are 95 % unless a claim says otherwise. Where a line will not do, a restricted cubic spline is drawn.",
                "Fires and pits also get random intercepts in a linear mixed model, with Satterthwaite's degrees of freedom; fewer than six pits enter as fixed effects too. Verdicts rest on the intervals clustered by fire; what the other models would answer stands beside them.",
            ],
            &[
                "MacKinnon, J. G. and White, H. (1985). Some heteroskedasticity-consistent covariance matrix estimators with improved finite sample properties. Journal of Econometrics 29, 305–325.",
                "Bell, R. M. and McCaffrey, D. F. (2002). Bias reduction in standard errors for linear regression with multi-stage samples. Survey Methodology 28, 169–181.",
                "Pustejovsky, J. E. and Tipton, E. (2018). Small-sample methods for cluster-robust variance estimation and hypothesis testing in fixed effects models. Journal of Business & Economic Statistics 36, 672–683.",
                "MacKinnon, J. G. (2023). Fast cluster bootstrap methods for linear regression models. Econometrics and Statistics 26, 52–71.",
                "Webb, M. D. (2023). Reworking wild bootstrap based inference for clustered errors. Canadian Journal of Economics 56, 839–858.",
                "Bates, D., Mächler, M., Bolker, B. and Walker, S. (2015). Fitting linear mixed-effects models using lme4. Journal of Statistical Software 67(1).",
                "Harrell, F. E. (2015). Regression Modeling Strategies, 2nd ed. Springer.",
                "Tobin, J. (1958). Estimation of relationships for limited dependent variables. Econometrica 26, 24–36.",
            ],
        ),
        section(
            "What faster costs",
            &[
                "Scores are fitted by proportional-odds regression, in which only their order counts; more than ten different scores are merged into ten classes. Odds ratios are of a better score; differences of the expected score and of the chance of a good score are averaged over the cooks, each as it would be with the one and with the other treatment. Where a treatment tells scores apart without error, the odds are those of a good score, by logistic regression with Firth’s penalty. Yields are linear, costs linear in their logarithm. p values are also given allowing for all questions of the same kind.",
                "Temperatures of tenderness are known to lie between two probe tests, or on one side of one; their distribution is Turnbull’s, and a normal one by maximum likelihood.",
            ],
            &[
                "McCullagh, P. (1980). Regression models for ordinal data. Journal of the Royal Statistical Society B 42, 109–142.",
                "Brant, R. (1990). Assessing proportionality in the proportional odds model for ordinal logistic regression. Biometrics 46, 1171–1178.",
                "Firth, D. (1993). Bias reduction of maximum likelihood estimates. Biometrika 80, 27–38.",
                "Benjamini, Y. and Hochberg, Y. (1995). Controlling the false discovery rate. Journal of the Royal Statistical Society B 57, 289–300.",
                "Turnbull, B. W. (1976). The empirical distribution function with arbitrarily grouped, censored and truncated data. Journal of the Royal Statistical Society B 38, 290–295.",
            ],
        ),
        section(
            "Claims and verdicts",
            &[
                "A claim names the smallest difference anyone would act on. Its verdict compares that with an interval of level 1 − 0.10/m, m being the number of claims first seen in the same run: each bound is a one-sided test at 5 %/m. A verdict is confirmed only on cooks that were not known when the claim was written down; until then it says what past cooks say to someone who has already seen them.",
            ],
            &[],
        ),
    ];
    sections.extend(documented());
    sections
}

/// The sections of [`DOCUMENTED`].
fn documented() -> Vec<TextSection> {
    DOCUMENTED
        .iter()
        .map(|(heading, source)| TextSection {
            heading: (*heading).to_owned(),
            paragraphs: module_paragraphs(source),
            sources: Vec::new(),
        })
        .filter(|section| !section.paragraphs.is_empty())
        .collect()
}

/// The paragraphs of a file's module documentation that speak of the method: examples, tables,
/// headings and what names parts of the program are for whoever reads the code.
fn module_paragraphs(source: &str) -> Vec<String> {
    let lines = source.lines().map_while(|line| line.strip_prefix("//!")).map(str::trim);
    let mut paragraphs: Vec<String> = vec![String::new()];
    let mut in_example = false;
    for line in lines {
        if line.starts_with("```") {
            in_example = !in_example;
        } else if !in_example && line.is_empty() {
            paragraphs.push(String::new());
        } else if let (false, Some(paragraph)) = (in_example, paragraphs.last_mut()) {
            if !paragraph.is_empty() {
                paragraph.push(' ');
            }
            paragraph.push_str(line);
        }
    }
    let of_the_program = |p: &String| p.contains("[`") || p.contains("](") || p.contains('|');
    paragraphs.retain(|p| !p.is_empty() && !p.starts_with('#') && !of_the_program(p));
    paragraphs.iter().map(|paragraph| paragraph.replace("**", "").replace('`', "")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paragraphs_of_the_method_are_kept_and_those_of_the_program_left() {
        let source = "//! Two lines\n//! of **one**.\n//!\n//! # Head\n//!\n//! ```\n//! let x = 1;\n//! ```\n//!\n//! See [`x`].\n//!\n\
                      //! Last.\n\nfn x() {}\n//! not this\n";
        assert_eq!(module_paragraphs(source), ["Two lines of one.", "Last."]);
    }

    #[test]
    fn every_documented_module_says_something_and_names_are_plain() {
        let sections = documented();
        assert_eq!(sections.len(), DOCUMENTED.len());
        for text in sections.iter().flat_map(|section| &section.paragraphs) {
            assert!(text.len() > 40 && !text.contains("::") && !text.contains("//"), "{text}");
        }
    }
}
