//! Digits at the head of a text.

/// The number at the head of a text, its count of digits (at most 9), and the rest.
pub(super) fn digits(text: &[u8]) -> Option<(i64, usize, &[u8])> {
    let mut value = 0;
    let mut count = 0;
    while let Some(digit) = text.get(count).filter(|b| b.is_ascii_digit()) {
        value = value * 10 + i64::from(digit - b'0');
        count += 1;
        if count > 9 {
            return None;
        }
    }
    (count > 0).then(|| (value, count, &text[count..]))
}
