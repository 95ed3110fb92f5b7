//! What a file is to hold, and how much of it there may be.

use std::io;

/// What a file is to hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Content {
    /// A cake file or a pantry.
    Text,
    /// An SVG drawing.
    Drawing,
    /// A picture to trace.
    Picture,
    /// A font whose letters are drawn.
    Font,
    /// A scanned model, or a file of numbers that one names.
    Model,
}

const MIB: u64 = 1024 * 1024;

impl Content {
    /// Such a file may hold at most this many bytes.
    pub fn largest(self) -> u64 {
        match self {
            // Three hundred thousand points.
            Self::Text => 8 * MIB,
            // A hundred thousand elements, the most that are read, take less.
            Self::Drawing => 16 * MIB,
            // A picture of as many pixels as are read, without compression.
            Self::Picture => 256 * MIB,
            // The letters of all scripts of East Asia.
            Self::Font => 32 * MIB,
            // A scanned model of ten million triangles.
            Self::Model => 512 * MIB,
        }
    }

    /// Whether so many bytes may be such a file.
    ///
    /// # Errors
    /// [`io::ErrorKind::FileTooLarge`] if not.
    pub fn check(self, bytes: u64) -> io::Result<()> {
        if bytes <= self.largest() {
            return Ok(());
        }
        let what = match self {
            Self::Text => "cake file",
            Self::Drawing => "drawing",
            Self::Picture => "picture",
            Self::Font => "font",
            Self::Model => "model",
        };
        let message = format!("it is larger than any {what} ({} MiB)", self.largest() / MIB);
        Err(io::Error::new(io::ErrorKind::FileTooLarge, message))
    }
}
