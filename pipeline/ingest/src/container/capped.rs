//! A reader that refuses to give more than it may.

use std::io::{self, Read};

/// Reads at most so many bytes; one more is an error, not an end.
pub(crate) struct Capped<R> {
    inner: R,
    left: u64,
}

/// What the error of a [`Capped`] holds.
#[derive(Debug, thiserror::Error)]
#[error("more bytes than allowed")]
struct Over;

impl<R> Capped<R> {
    pub(crate) fn new(inner: R, most: u64) -> Self {
        Self { inner, left: most }
    }

    /// Whether an error says that there was more than allowed.
    pub(crate) fn is_over(error: &io::Error) -> bool {
        matches!(error.get_ref(), Some(inner) if inner.is::<Over>())
    }
}

impl<R: Read> Read for Capped<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.inner.read(buffer)?;
        self.left = self.left.checked_sub(read as u64).ok_or_else(|| io::Error::other(Over))?;
        Ok(read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_allowed_byte_is_given_and_one_more_is_an_error() {
        let mut text = Vec::new();
        assert_eq!(Capped::new(&b"12345"[..], 5).read_to_end(&mut text).unwrap(), 5);
        let error = Capped::new(&b"123456"[..], 5).read_to_end(&mut text).unwrap_err();
        assert!(Capped::<&[u8]>::is_over(&error));
    }
}
