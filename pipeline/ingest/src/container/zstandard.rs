//! Zstandard frames one after the other.

use ruzstd::decoding::errors::{FrameDecoderError, ReadFrameHeaderError};
use ruzstd::decoding::{BlockDecodingStrategy, FrameDecoder};
use std::io::{self, BufRead, Read};

/// Largest window, bytes: levels up to 19 use 8 MiB at the most, and RFC 8878 (3.1.1.1.2)
/// asks decoders for no more.
const LARGEST_WINDOW: u64 = 32 << 20;

/// Reads all frames of a stream as one text; frames to be skipped are.
pub(super) struct ZstandardReader<R> {
    source: R,
    decoder: FrameDecoder,
    in_frame: bool,
}

impl<R: BufRead> ZstandardReader<R> {
    pub(super) fn new(source: R) -> Self {
        let mut decoder = FrameDecoder::new();
        decoder.set_max_window_size(LARGEST_WINDOW);
        Self { source, decoder, in_frame: false }
    }

    /// Begins the next frame; false at the end of the stream.
    fn begin(&mut self) -> io::Result<bool> {
        loop {
            if self.source.fill_buf()?.is_empty() {
                return Ok(false);
            }
            match self.decoder.reset(&mut self.source) {
                Ok(()) => return Ok(true),
                Err(FrameDecoderError::ReadFrameHeaderError(ReadFrameHeaderError::SkipFrame {
                    length,
                    ..
                })) => {
                    let length = u64::from(length);
                    let mut rest = self.source.by_ref().take(length);
                    if io::copy(&mut rest, &mut io::sink())? < length {
                        return Err(io::ErrorKind::UnexpectedEof.into());
                    }
                }
                Err(error) => return Err(io::Error::other(error)),
            }
        }
    }

    /// Ends a frame, if its text is what its checksum says.
    fn end(&mut self) -> io::Result<()> {
        self.in_frame = false;
        let stated = self.decoder.get_checksum_from_data();
        if stated.is_some() && stated != self.decoder.get_calculated_checksum() {
            return Err(io::Error::new(io::ErrorKind::InvalidData, "its checksum does not fit"));
        }
        Ok(())
    }
}

impl<R: BufRead> Read for ZstandardReader<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if buffer.is_empty() {
            return Ok(0);
        }
        loop {
            if !self.in_frame {
                if !self.begin()? {
                    return Ok(0);
                }
                self.in_frame = true;
            }
            let read = self.decoder.read(buffer)?;
            if read > 0 {
                return Ok(read);
            }
            if self.decoder.is_finished() {
                self.end()?;
            } else {
                self.decoder
                    .decode_blocks(&mut self.source, BlockDecodingStrategy::UptoBlocks(1))
                    .map_err(io::Error::other)?;
            }
        }
    }
}
