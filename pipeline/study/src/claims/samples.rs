//! Claims that the tests of this module share.

pub(super) const COMPARE: &str = r#"
[[claim]]
id = "oak-or-hickory"
says = "Oak tastes better than hickory"
kind = "compare"
outcome = "score_taste"
better = "higher"
by = "wood"
levels = ["oak", "hickory"]
matters = 0.5
"#;

pub(super) const TREND: &str = r#"
[[claim]]
id = "hotter-pit"
says = "A hotter pit shortens the stall"
kind = "trend"
outcome = "stall_delay_min"
better = "lower"
by = "pit_early_c"
per = 5.0
adjust = ["trimmed_weight_kg"]
matters = 10
"#;

pub(super) const TIMING: &str = r#"
[[claim]]
id = "foil-or-paper-at-160"
says = "Foil at 160 °F finishes sooner than paper at 160 °F"
kind = "wrap-timing"
outcome = "clock_to_finish_min"
better = "lower"
strategies = [{ method = "foil", at_core_f = 160, grace_min = 20 }, { never = true }]
adjust = ["trimmed_weight_kg", "pit_early_c"]
group = ["fire"]
matters = 30
judge_after_cooks = 60
"#;
