//! How wide a text is, and how it is written into SVG.

/// Width of a text in points, from the advance widths of the metric family that the common
/// sans-serif fonts share (digits 0.556 em, space 0.278 em); generous where letters differ, so that
/// nothing is cut.
pub(super) fn text_width(text: &str, font_size: f64) -> f64 {
    let em: f64 = text
        .chars()
        .map(|letter| match letter {
            'i' | 'j' | 'l' | '\'' | '|' => 0.24,
            ' ' | '\u{a0}' | '.' | ',' | ':' | ';' | 'f' | 't' | 'I' | '/' | '!' | '·' => 0.29,
            'r' | '-' | '(' | ')' => 0.34,
            'm' | 'M' | 'W' | '%' | '—' => 0.88,
            'w' => 0.73,
            letter if letter.is_uppercase() => 0.7,
            _ => 0.56,
        })
        .sum();
    em * font_size
}

/// The text cut to a width in points, with an ellipsis where it was cut.
pub(super) fn fitted(text: &str, font_size: f64, width: f64) -> String {
    if text_width(text, font_size) <= width {
        return text.to_owned();
    }
    let mut cut = String::new();
    for letter in text.chars() {
        cut.push(letter);
        if text_width(&cut, font_size) + font_size * 0.9 > width {
            cut.pop();
            break;
        }
    }
    cut.push('…');
    cut
}

/// Escapes text for element content and double-quoted attributes. Characters that no document may
/// hold become the replacement character.
pub(super) fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\t' | '\n' => escaped.push(' '),
            letter if letter.is_control() => escaped.push('\u{fffd}'),
            letter => escaped.push(letter),
        }
    }
    escaped
}
