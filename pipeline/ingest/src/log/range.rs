//! What probes can have read.

use cook::Role;

/// No probe in meat has been colder or hotter, °C.
const MEAT_RANGE_C: (f32, f32) = (-40.0, 150.0);
/// No cooker or air has been colder or hotter, °C.
const AIR_RANGE_C: (f32, f32) = (-60.0, 600.0);

/// What a probe of a role has ever read, °C.
pub(crate) fn range(role: Role) -> (f32, f32) {
    if role == Role::Meat { MEAT_RANGE_C } else { AIR_RANGE_C }
}
