//! A plotters backend that writes SVG with CSS classes.
//!
//! What a thing is drawn with is a [`Pen`]. Coordinates are integers in tenths of a point (the `viewBox` is
//! ten times the nominal size), fine enough for curves and short in the file.

pub(super) use super::pen::Pen;
pub(super) use super::text::{fitted, text_width};

use std::cell::{Cell, RefCell};
use std::convert::Infallible;
use std::fmt::Write as _;
use std::rc::Rc;

use super::text::escape;
use crate::document::{Drawing, stays_here};
use plotters_backend::text_anchor::{HPos, Pos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
};

/// Backend units in one point.
pub(super) const UNIT: f64 = 10.0;

/// Where a text is anchored horizontally.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// The drawing: plotters draws on a clone of it while the figure's own code adds what plotters has
/// no element for.
#[derive(Clone)]
pub(super) struct Canvas {
    size: (u32, u32),
    body: Rc<RefCell<String>>,
    /// Whether something in it leads elsewhere.
    has_links: Rc<Cell<bool>>,
}

impl Canvas {
    /// An empty canvas of this size in points.
    pub(super) fn new(width: f64, height: f64) -> Self {
        let size = ((width * UNIT) as u32, (height * UNIT) as u32);
        Self { size, body: Rc::default(), has_links: Rc::default() }
    }

    /// The finished SVG. `id` is unique in the page; title and description are its accessible name
    /// and text.
    pub(super) fn finish(self, id: &str, title: &str, description: &str) -> Drawing {
        let (width, height) = self.size;
        let body = self.body.borrow();
        // What holds links is no single image to those who hear it.
        let has_links = self.has_links.get();
        let role = if has_links { "group" } else { "img" };
        let mut svg = String::with_capacity(body.len() + 512);
        let _ = write!(
            svg,
            r#"<svg viewBox="0 0 {width} {height}" role="{role}" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">{}</title><desc id="{id}-d">{}</desc>{body}</svg>"#,
            escape(title),
            escape(description),
        );
        Drawing::new(svg, title, description).of(width / UNIT as u32, has_links)
    }

    /// What is drawn so far, without a frame.
    pub(super) fn drawn(&self) -> String {
        self.body.borrow().clone()
    }

    /// Draws something that leads to a page beside this one; named alone where there is none.
    pub(super) fn linked(&self, page: Option<&str>, name: &str, draw: impl FnOnce()) {
        let Some(page) = page.filter(|page| stays_here(page)) else {
            return self.named(name, draw);
        };
        self.has_links.set(true);
        let name = escape(name);
        self.push(format_args!(
            r#"<a href="{}" aria-label="{name}"><title>{name}</title>"#,
            escape(page)
        ));
        draw();
        self.push(format_args!("</a>"));
    }

    fn push(&self, markup: std::fmt::Arguments<'_>) {
        // Writing to a String cannot fail.
        let _ = self.body.borrow_mut().write_fmt(markup);
    }

    /// Draws something that shows a text when pointed at.
    pub(super) fn named(&self, name: &str, draw: impl FnOnce()) {
        self.push(format_args!("<g><title>{}</title>", escape(name)));
        draw();
        self.push(format_args!("</g>"));
    }

    /// Text at a place in backend units; `y` is the baseline.
    pub(super) fn text(&self, (x, y): BackendCoord, pen: Pen, anchor: Anchor, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " middle",
            Anchor::End => " end",
        };
        let class = pen.class();
        self.push(format_args!(
            r#"<text class="{class}{anchor}" x="{x}" y="{y}">{}</text>"#,
            escape(text)
        ));
    }

    /// A rectangle in backend units, drawn twice: a quiet ground and, where the pen has one, a
    /// pattern over it.
    pub(super) fn rect(&self, from: BackendCoord, to: BackendCoord, pen: Pen) {
        let (x, y) = (from.0.min(to.0), from.1.min(to.1));
        let (width, height) = ((to.0 - from.0).abs().max(1), (to.1 - from.1).abs().max(1));
        let class = pen.class();
        self.push(format_args!(
            r#"<rect class="{class}" x="{x}" y="{y}" width="{width}" height="{height}"/>"#
        ));
    }

    /// A quiet full-height ground for a phase.
    pub(super) fn ground(&self, from: BackendCoord, to: BackendCoord, pen: Pen) {
        let (x, y) = (from.0.min(to.0), from.1.min(to.1));
        let (width, height) = ((to.0 - from.0).abs().max(1), (to.1 - from.1).abs().max(1));
        let class = pen.class();
        self.push(format_args!(
            r#"<rect class="ground {class}" x="{x}" y="{y}" width="{width}" height="{height}"/>"#
        ));
    }

    /// A ring around a place in backend units.
    pub(super) fn ring(&self, (x, y): BackendCoord, radius: i32, pen: Pen) {
        let class = pen.class();
        self.push(format_args!(r#"<circle class="{class}" cx="{x}" cy="{y}" r="{radius}"/>"#));
    }

    /// A line or an outline through places in backend units.
    pub(super) fn path(
        &self,
        points: impl IntoIterator<Item = BackendCoord>,
        pen: Pen,
        close: bool,
    ) {
        self.paths([points], pen, close);
    }

    /// Many lines or outlines as one element: thousands of points stay light to open.
    pub(super) fn paths<P: IntoIterator<Item = BackendCoord>>(
        &self,
        lines: impl IntoIterator<Item = P>,
        pen: Pen,
        close: bool,
    ) {
        let mut data = String::new();
        for line in lines {
            add_line(&mut data, line, close);
        }
        if !data.is_empty() {
            let class = pen.class();
            self.push(format_args!(r#"<path class="{class}" d="{data}"/>"#));
        }
    }
}

/// Adds one line to the data of a path, in relative steps.
fn add_line(data: &mut String, points: impl IntoIterator<Item = BackendCoord>, close: bool) {
    let mut last: Option<BackendCoord> = None;
    for (x, y) in points {
        match last {
            None => {
                let _ = write!(data, "M{x} {y}l");
            }
            Some(before) if before == (x, y) => continue,
            Some((px, py)) => {
                let (dx, dy) = (x - px, y - py);
                // A minus sign separates as well as a space does.
                if dx >= 0 && !data.ends_with('l') {
                    data.push(' ');
                }
                let _ = write!(data, "{dx}{}{dy}", if dy < 0 { "" } else { " " });
            }
        }
        last = Some((x, y));
    }
    if last.is_none() {
        return;
    }
    // A single place still shows, by its round cap.
    if data.ends_with('l') {
        data.push_str("0 0");
    }
    if close {
        data.push('Z');
    }
}

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

impl DrawingBackend for Canvas {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        self.size
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, colour: BackendColor) -> Drawn {
        self.rect((x, y), (x + 1, y + 1), Pen::of(colour));
        Ok(())
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Drawn {
        if style.color().alpha > 0.0 {
            self.path([from, to], Pen::of(style.color()), false);
        }
        Ok(())
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
        _fill: bool,
    ) -> Drawn {
        self.rect(from, to, Pen::of(style.color()));
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        if style.color().alpha > 0.0 {
            self.path(path, Pen::of(style.color()), false);
        }
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        (x, y): BackendCoord,
        radius: u32,
        style: &S,
        _fill: bool,
    ) -> Drawn {
        let class = Pen::of(style.color()).class();
        self.push(format_args!(r#"<circle class="{class}" cx="{x}" cy="{y}" r="{radius}"/>"#));
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        vertices: I,
        style: &S,
    ) -> Drawn {
        self.path(vertices, Pen::of(style.color()), true);
        Ok(())
    }

    fn draw_text<T: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &T,
        (x, y): BackendCoord,
    ) -> Drawn {
        let Pos { h_pos, v_pos } = style.anchor();
        let anchor = match h_pos {
            HPos::Left => Anchor::Start,
            HPos::Center => Anchor::Middle,
            HPos::Right => Anchor::End,
        };
        // Capitals and digits of the usual sans-serif fonts are about 0.72 em high.
        let baseline = match v_pos {
            VPos::Top => 0.85,
            VPos::Center => 0.36,
            VPos::Bottom => -0.15,
        };
        let y = y + (baseline * style.size()) as i32;
        self.text((x, y), Pen::of(style.color()), anchor, text);
        Ok(())
    }

    fn estimate_text_size<T: BackendTextStyle>(
        &self,
        text: &str,
        style: &T,
    ) -> Result<(u32, u32), DrawingErrorKind<Infallible>> {
        let size = style.size();
        Ok(((text_width(text, size / UNIT) * UNIT).ceil() as u32, size.ceil() as u32))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_cut_to_width() {
        assert_eq!(escape("a<b>&\"c\u{1}"), "a&lt;b&gt;&amp;&quot;c\u{fffd}");
        assert_eq!(fitted("short", 11.0, 100.0), "short");
        let cut = fitted("a very long name of a cook", 11.0, 60.0);
        assert!(cut.ends_with('…') && text_width(&cut, 11.0) <= 62.0, "{cut}");
    }

    #[test]
    fn a_path_is_written_relative_and_a_single_place_is_kept() {
        let canvas = Canvas::new(10.0, 10.0);
        canvas.path([(1, 2), (4, 6), (3, 1), (3, 1)], Pen::Core, false);
        canvas.path([(7, 7)], Pen::Core, true);
        canvas.paths([[(1, 1)], [(5, 5)]], Pen::Dots, false);
        let body = canvas.body.borrow().clone();
        assert_eq!(
            body,
            r#"<path class="core" d="M1 2l3 4-1-5"/><path class="core" d="M7 7l0 0Z"/><path class="dots" d="M1 1l0 0M5 5l0 0"/>"#
        );
    }
}
