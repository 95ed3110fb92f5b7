//! What a file holds, in 64 figures: SHA-256 (FIPS 180-4), which every system has a tool for.

use std::{
    fmt, fs,
    io::{self, Read, Write},
    path::Path,
};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};
use sha2::{Digest, Sha256};

/// The SHA-256 of a file's bytes.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Fingerprint([u8; 32]);

impl Fingerprint {
    /// The fingerprint of `bytes`.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Length and fingerprint of the file at `path`, which is read piece by piece.
    pub(super) fn of_file(path: &Path) -> io::Result<(u64, Self)> {
        let mut file = fs::File::open(path)?;
        let mut hash = Sha256::new();
        let mut piece = vec![0; 1 << 16];
        let mut bytes = 0;
        loop {
            match file.read(&mut piece) {
                Ok(0) => return Ok((bytes, Self(hash.finalize().into()))),
                Ok(count) => {
                    hash.update(&piece[..count]);
                    bytes += count as u64;
                }
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
    }
}

/// In hexadecimal, small letters.
impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Fingerprint({self})")
    }
}

impl Serialize for Fingerprint {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Fingerprint {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        let pairs = text.as_bytes().chunks_exact(2);
        let bytes: Option<Vec<u8>> =
            pairs.map(|pair| u8::from_str_radix(str::from_utf8(pair).ok()?, 16).ok()).collect();
        let whole = bytes.filter(|_| text.len() == 64).and_then(|bytes| bytes.try_into().ok());
        whole.map(Self).ok_or_else(|| D::Error::custom("a SHA-256 has 64 hexadecimal figures"))
    }
}

/// A writer that counts and fingerprints what goes through it.
pub(super) struct Fingerprinting<W> {
    inner: W,
    hash: Sha256,
    bytes: u64,
}

impl<W: Write> Fingerprinting<W> {
    pub fn new(inner: W) -> Self {
        Self { inner, hash: Sha256::new(), bytes: 0 }
    }

    /// The writer below, and length and fingerprint of what it got.
    pub fn end(self) -> (W, u64, Fingerprint) {
        (self.inner, self.bytes, Fingerprint(self.hash.finalize().into()))
    }
}

impl<W: Write> Write for Fingerprinting<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let count = self.inner.write(bytes)?;
        self.hash.update(&bytes[..count]);
        self.bytes += count as u64;
        Ok(count)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of FIPS 180-4, appendix B.1 of its first edition.
    const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

    #[test]
    fn the_figures_are_those_of_the_standard() {
        assert_eq!(Fingerprint::of(b"abc").to_string(), ABC);
        let mut writer = Fingerprinting::new(Vec::new());
        writer.write_all(b"a").unwrap();
        writer.write_all(b"bc").unwrap();
        assert_eq!(writer.end(), (b"abc".to_vec(), 3, Fingerprint::of(b"abc")));
        let file = tempfile::NamedTempFile::new().unwrap();
        fs::write(file.path(), "abc").unwrap();
        assert_eq!(Fingerprint::of_file(file.path()).unwrap(), (3, Fingerprint::of(b"abc")));
    }

    #[test]
    fn it_is_read_back_and_anything_else_refused() {
        let text = format!("\"{ABC}\"");
        assert_eq!(serde_json::from_str::<Fingerprint>(&text).unwrap(), Fingerprint::of(b"abc"));
        for wrong in ["\"\"", "\"ab\"", &text.replace("ba78", "b\u{e9}7"), &text.replace("ba78", "xx78")] {
            assert!(serde_json::from_str::<Fingerprint>(wrong).is_err(), "{wrong}");
        }
    }
}
