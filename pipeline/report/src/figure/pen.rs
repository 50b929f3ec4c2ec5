//! What a figure draws with.
//!
//! plotters styles are colours; here a colour is only a carrier: its blue byte is the number of a
//! [`Pen`], and a pen is a CSS class. The page's stylesheet then decides colour, dash and pattern,
//! for light, dark and print alike.

use super::canvas::UNIT;
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, RGBAColor, ShapeStyle, TextStyle};
use plotters_backend::BackendColor;

/// Makes [`Pen`] from the list of pens with their classes, so that each stands once.
macro_rules! pens {
    ($($pen:ident $class:literal),* $(,)?) => {
        /// What something is drawn as. Each pen is one class of the stylesheet.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub(super) enum Pen {
            $($pen),*
        }

        impl Pen {
            const ALL: &[Self] = &[$(Self::$pen),*];

            /// The class in the stylesheet.
            pub(super) fn class(self) -> &'static str {
                match self {
                    $(Self::$pen => $class),*
                }
            }
        }
    };
}

pens! {
    Grid "grid",
    Axis "axis",
    Tick "tick",
    Label "label",
    Note "note",
    Core "core",
    Pit "pit",
    Meat "meat",
    Ambient "ambient",
    Ramp "ramp",
    Stall "stall",
    Push "push",
    Rest "rest",
    Unknown "unknown",
    Shade "shade",
    Mark "mark",
    Band "band",
    Line "line",
    Point "point",
    Censored "censored",
    Median "median",
    Zero "zero",
    Matters "matters",
    Interval "interval",
    Removed "removed",
    Track "track",
    Missing "missing",
    WetBulb "wet-bulb",
    Dots "dots",
    Edge "edge",
    Thin "thin",
    Past "past",
    Chosen "chosen",
    Open "open",
    SideA "side-a",
    SideB "side-b",
    SideC "side-c",
    SideD "side-d",
    DotA "dot-a",
    DotB "dot-b",
    DotC "dot-c",
    DotD "dot-d",
    Ring "ring",
    Sooner "sooner",
    Later "later",
    Resting "resting",
    WrapTick "wrap-tick",
    Steady "steady",
}

impl Pen {
    /// Size of text drawn with this pen, points; the stylesheet says the same.
    pub(super) fn font_size(self) -> f64 {
        match self {
            Self::Label => 12.0,
            Self::Note => 10.0,
            _ => 11.0,
        }
    }

    fn colour(self) -> RGBAColor {
        let number = Self::ALL.iter().position(|pen| *pen == self).unwrap_or_default();
        RGBAColor(0, 0, u8::try_from(number).unwrap_or_default(), 1.0)
    }

    /// The pen that a colour carries.
    pub(super) fn of(colour: BackendColor) -> Self {
        Self::ALL.get(usize::from(colour.rgb.2)).copied().unwrap_or(Self::Axis)
    }

    /// This pen as a plotters style for shapes.
    pub(super) fn shape(self) -> ShapeStyle {
        ShapeStyle { color: self.colour(), filled: true, stroke_width: 1 }
    }

    /// This pen as a plotters style for text.
    pub(super) fn text(self) -> TextStyle<'static> {
        let font = FontDesc::new(FontFamily::SansSerif, self.font_size() * UNIT, FontStyle::Normal);
        let colour = self.colour();
        TextStyle { color: colour.to_backend_color(), ..TextStyle::from(font) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pen_survives_the_round_trip_through_a_colour() {
        for pen in Pen::ALL {
            let RGBAColor(r, g, b, alpha) = pen.colour();
            assert_eq!(Pen::of(BackendColor { alpha, rgb: (r, g, b) }), *pen);
        }
    }
}
