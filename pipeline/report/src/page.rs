//! The pages: each says which sections it has, and builds them.

mod account;
mod answers;
mod brief;
mod by_hand;
mod cautions;
mod claims;
mod cleaning;
mod compare;
mod cook;
mod cooks;
mod cost;
mod first_look;
mod forecast;
mod habits;
mod levers;
mod methods;
mod outlook;
mod over;
mod pace;
mod pool;
mod probe;
mod quality;
mod scores;
mod season;
mod study;
mod summary;
mod trials;
mod whole;
mod wrap_timing;

pub(crate) use brief::brief_page;
pub(crate) use cook::cook_page;
pub(crate) use habits::habits_page;
pub(crate) use outlook::outlook_page;
pub(crate) use over::over_page;
pub(crate) use pool::pool_page;
pub(crate) use season::season_page;
pub(crate) use summary::summary_page;

use std::collections::{HashMap, HashSet};

use crate::data::CookReport;

/// The cooks of each fire, by their places.
pub(crate) struct Fires<'a> {
    by_fire: HashMap<&'a str, Vec<usize>>,
}

impl<'a> Fires<'a> {
    pub(crate) fn new(cooks: &'a [CookReport]) -> Self {
        let mut by_fire: HashMap<&str, Vec<usize>> = HashMap::new();
        for (place, cook) in cooks.iter().enumerate().filter(|(_, cook)| !cook.card.fire.is_empty())
        {
            by_fire.entry(&cook.card.fire).or_default().push(place);
        }
        Self { by_fire }
    }

    /// The other cooks on the fire of the cook at this place.
    fn mates<'d>(
        &self,
        cooks: &'d [CookReport],
        place: usize,
    ) -> impl Iterator<Item = &'d CookReport> + use<'_, 'd> {
        let fire = cooks[place].card.fire.as_str();
        let places = self.by_fire.get(fire).into_iter().flatten();
        places.filter(move |mate| **mate != place).map(|mate| &cooks[*mate])
    }
}

/// Addresses within a page, one per cook: made of the id's letters and digits, and told apart where
/// two ids give the same.
pub(crate) struct Anchors {
    by_cook: HashMap<String, String>,
}

impl Anchors {
    pub(crate) fn new(cooks: &[CookReport]) -> Self {
        let mut taken = HashSet::new();
        let mut by_cook = HashMap::new();
        for cook in cooks {
            let slug = slug(cook.id());
            let mut anchor = format!("cook-{slug}");
            let mut next = 2;
            while !taken.insert(anchor.clone()) {
                anchor = format!("cook-{slug}-{next}");
                next += 1;
            }
            by_cook.entry(cook.id().to_owned()).or_insert(anchor);
        }
        Self { by_cook }
    }

    /// The address of a cook that this page has.
    fn known(&self, cook: &str) -> Option<&str> {
        self.by_cook.get(cook).map(String::as_str)
    }

    fn of(&self, cook: &str) -> &str {
        self.by_cook.get(cook).map_or("cooks", String::as_str)
    }
}

/// Lower-case ASCII letters and digits with single hyphens between.
fn slug(text: &str) -> String {
    let mut slug = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter.is_ascii_alphanumeric() {
            slug.push(letter.to_ascii_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    let trimmed = slug.trim_end_matches('-');
    if trimmed.is_empty() { "unnamed".to_owned() } else { trimmed.to_owned() }
}
