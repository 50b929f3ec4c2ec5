//! Figures and pages from finished results; computes no statistic.
//!
//! [`ReportData`] holds everything a report shows, in SI units: lines, bands, medians, counts and
//! verdicts all arrive finished. [`render_season`] and [`render_cook`] turn it into HTML files that
//! are complete in themselves: no address outside the file, one small script (sorting the cooks)
//! without which everything is there all the same, light, dark and print
//! styles, figures as inline SVG. The same data give the same bytes.
//!
//! Conversions to the reader's units (°F, lb, in) happen here and nowhere earlier; see [`units`].

mod agenda;
mod choices;
pub mod data;
mod document;
mod effect;
mod figure;
pub mod names;
pub mod outlook;
mod page;
mod pit;
#[cfg(test)]
mod samples;
mod thin;
mod treatment;
pub use columns::quantity as units;
mod words;

pub use cook::Units;
pub use data::ReportData;
pub use outlook::{OutlookCook, OutlookFan, OutlookPage};
pub use pit::{PitCook, PitMilestone, PitPage, render_pit};
pub use thin::MAX_POINTS;

use document::{html, markdown, terminal};
use study::result::pool::Pool;

/// The season report as one HTML file.
pub fn render_season(data: &ReportData, units: Units) -> String {
    html::page(&page::season_page(data, units))
}

/// Four printed pages as one HTML file: what is settled, the argument in a picture, the season, every
/// cook. `None` where the data hold no season to sum up, as those of logs alone.
pub fn render_summary(data: &ReportData, units: Units) -> Option<String> {
    let page = page::summary_page(data, units);
    (!page.sections.is_empty()).then(|| html::page(&page))
}

/// How the team cooks, for who is new to it, as one HTML file. `None` where no cut was cooked often enough
/// to be a habit.
pub fn render_habits(data: &ReportData, units: Units) -> Option<String> {
    let page = page::habits_page(data, units);
    (!page.sections.is_empty()).then(|| html::page(&page))
}

/// The season report as Markdown, for a wiki: findings and tables, without the figures.
pub fn render_markdown(data: &ReportData, units: Units) -> String {
    markdown::page(&page::brief_page(data, units))
}

/// The same as plain text for a terminal, its lines at most `width` characters long where words allow.
pub fn render_text(data: &ReportData, units: Units, width: usize) -> String {
    terminal::page(&page::brief_page(data, units), width)
}

/// The page of cooks that are on, with what is forecast of them, as one HTML file.
pub fn render_outlook(page: &OutlookPage, units: Units) -> String {
    html::page(&page::outlook_page(page, units))
}

/// Claims of several teams, combined from their effects, as one HTML file.
pub fn render_pool(pool: &Pool, units: Units) -> String {
    html::page(&page::pool_page(pool, units))
}

/// The page of one cook as one HTML file; `None` where the data hold no cook of that id.
pub fn render_cook(data: &ReportData, cook_id: &str, units: Units) -> Option<String> {
    let place = data.cooks.iter().position(|cook| cook.id() == cook_id)?;
    Some(CookPages::new(data, units).render(place))
}

/// Cooks laid over each other, as one HTML file; the name of the one that the data do not hold.
///
/// # Errors
/// The first id that is no cook's.
pub fn render_over<'a>(
    data: &ReportData,
    cooks: &[&'a str],
    units: Units,
) -> Result<String, &'a str> {
    let place = |id: &&'a str| data.cooks.iter().position(|cook| cook.id() == *id).ok_or(*id);
    let places = cooks.iter().map(place).collect::<Result<Vec<usize>, _>>()?;
    Ok(html::page(&page::over_page(data, &places, units)))
}

/// Of more cooks than this a page is made only where it is asked for.
pub const MOST_COOK_PAGES: usize = 300;

/// How many cooks can be laid over each other and told apart.
pub const MOST_OVER: usize = 4;

/// The pages of all cooks, with what they share found once: a page by itself costs a look over all cooks.
pub struct CookPages<'a> {
    data: &'a ReportData,
    anchors: page::Anchors,
    fires: page::Fires<'a>,
    units: Units,
}

impl<'a> CookPages<'a> {
    /// The pages of `data.cooks`.
    pub fn new(data: &'a ReportData, units: Units) -> Self {
        let (anchors, fires) = (page::Anchors::new(&data.cooks), page::Fires::new(&data.cooks));
        Self { data, anchors, fires, units }
    }

    /// The page of the cook at that place among `data.cooks`, as one HTML file.
    ///
    /// # Panics
    /// Where there are no so many cooks.
    pub fn render(&self, place: usize) -> String {
        let among = (&self.anchors, &self.fires);
        html::page(&page::cook_page(self.data, among, place, self.units))
    }
}
