//! The vocabulary of a cook: units, roles, marks, phases, card, events and season settings.
