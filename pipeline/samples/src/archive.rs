//! Files in containers: the same bytes every time.

use flate2::{Compression, GzBuilder};
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

/// What a log stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Container {
    /// Nothing.
    None,
    /// gzip (RFC 1952).
    Gzip,
    /// Zstandard (RFC 8878).
    Zstd,
    /// A ZIP archive (ISO/IEC 21320-1) with this log in it.
    Zip,
}

impl Container {
    /// Every container.
    pub const ALL: [Self; 4] = [Self::None, Self::Gzip, Self::Zstd, Self::Zip];

    /// A file name's ending.
    pub fn ending(self) -> &'static str {
        match self {
            Self::None => "",
            Self::Gzip => ".gz",
            Self::Zstd => ".zst",
            Self::Zip => ".zip",
        }
    }

    /// The bytes of a file in the container; `name` is what a ZIP archive calls it.
    pub fn pack(self, name: &str, bytes: Vec<u8>) -> Vec<u8> {
        match self {
            Self::None => bytes,
            Self::Gzip => gzip(&bytes),
            Self::Zstd => zstd(&bytes),
            Self::Zip => zip(&[(name, &bytes)]),
        }
    }
}

/// Compresses by gzip, without a name and with time stamp 0 ("no time stamp is available",
/// RFC 1952, 2.3.1).
pub fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut writer =
        GzBuilder::new().mtime(0).write(Vec::with_capacity(bytes.len() / 3), Compression::new(6));
    writer.write_all(bytes).and_then(|()| writer.finish()).expect("a vector takes all bytes")
}

/// Compresses by Zstandard.
pub fn zstd(bytes: &[u8]) -> Vec<u8> {
    ruzstd::encoding::compress_to_vec(bytes, ruzstd::encoding::CompressionLevel::Fastest)
}

/// Files in a ZIP archive, in this order, all dated 1980-01-01, the format's first day.
pub fn zip<B: AsRef<[u8]>>(files: &[(&str, B)]) -> Vec<u8> {
    zip_with(files, CompressionMethod::Deflated)
}

fn zip_with<B: AsRef<[u8]>>(files: &[(&str, B)], method: CompressionMethod) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        add(&mut writer, name, bytes.as_ref(), method);
    }
    finish(writer)
}

/// Adds a file.
pub(crate) fn add(
    writer: &mut ZipWriter<Cursor<Vec<u8>>>,
    name: &str,
    bytes: &[u8],
    method: CompressionMethod,
) {
    let options = SimpleFileOptions::default()
        .compression_method(method)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    writer
        .start_file(name, options)
        .and_then(|()| Ok(writer.write_all(bytes)?))
        .expect("a vector takes all bytes");
}

/// The finished archive.
pub(crate) fn finish(writer: ZipWriter<Cursor<Vec<u8>>>) -> Vec<u8> {
    writer.finish().expect("a vector takes all bytes").into_inner()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read;

    fn text() -> Vec<u8> {
        (0..3_000).flat_map(|i| format!("{i},{}\n", 200 + i % 7).into_bytes()).collect()
    }

    #[test]
    fn what_goes_in_comes_out_and_smaller() {
        let text = text();
        let mut read = Vec::new();
        let packed = gzip(&text);
        assert!(packed.len() < text.len() / 2);
        flate2::read::GzDecoder::new(&packed[..]).read_to_end(&mut read).unwrap();
        assert_eq!(read, text);

        let packed = zstd(&text);
        assert!(packed.len() < text.len() / 2);
        let mut decoder = ruzstd::decoding::StreamingDecoder::new(&packed[..]).unwrap();
        read.clear();
        decoder.read_to_end(&mut read).unwrap();
        assert_eq!(read, text);
    }

    #[test]
    fn a_zip_has_its_files_in_order_and_no_clock() {
        let files = [("b.csv", text()), ("a/c.csv", b"x".to_vec())];
        let packed = zip(&files);
        assert_eq!(packed, zip(&files));
        let mut archive = zip::ZipArchive::new(Cursor::new(packed)).unwrap();
        for (index, (name, bytes)) in files.iter().enumerate() {
            let mut file = archive.by_index(index).unwrap();
            assert_eq!(file.name().unwrap(), *name);
            assert_eq!(file.last_modified().unwrap().year(), 1980);
            let mut read = Vec::new();
            file.read_to_end(&mut read).unwrap();
            assert_eq!(&read, bytes);
        }
    }

    #[test]
    fn headers_carry_no_time() {
        let packed = gzip(b"x");
        // Bytes 4 to 7 of a gzip header are its time stamp (RFC 1952, 2.3).
        assert_eq!(packed[4..8], [0; 4]);
        for container in Container::ALL {
            let once = container.pack("log.csv", text());
            assert_eq!(once, container.pack("log.csv", text()), "{container:?}");
        }
    }
}
