//! What the study derives of the measures and asks about as of a column.

use crate::Quantity::{CostPerMass, Fraction, Mass, Minutes};
use crate::describe::{list, number};

list! {
    LATE_MIN late_min: f64 = number(Minutes, "Pull against plan (positive is late)",
        "From the planned pull to the pull.");
    COOKED_OVER_TRIMMED cooked_over_trimmed: f64 = number(Fraction, "Yield over the trimmed weight",
        "Weight as it came off by weight as it went on, which no trimming blurs.");
    COST_PER_SERVED_KG cost_per_served_kg: f64 = number(CostPerMass, "Cost of what is served",
        "Cost of the meat by its weight as served, in the season's currency.");
    FUEL_KG_PER_H fuel_kg_per_h: f64 = number(Mass, "Fuel an hour",
        "Fuel burnt by the time on the pit.");
}
