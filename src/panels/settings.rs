//! What the program remembers of its user: in a file of the user's configuration folder.

use std::{
    fs, io,
    path::{Path, PathBuf},
};

use serde::{Deserialize, Serialize};

/// How many cakes are remembered.
const MOST_RECENT: usize = 12;

/// What is remembered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Light letters on a dark ground.
    pub dark: bool,
    /// Size of the letters, as a share of the usual.
    pub letters: f32,
    /// Files are listed in the window, also where the system has a dialog for it.
    pub own_file_list: bool,
    /// What comes next is not told above the panels.
    pub no_guide: bool,
    /// The picture is not drawn more finely once it is left alone.
    pub quick_picture: bool,
    /// How what is carved off is shown, by the name of the way.
    pub offcut: String,
    /// Cakes that were open, the last first.
    pub recent: Vec<PathBuf>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            dark: false,
            letters: 1.0,
            own_file_list: false,
            no_guide: false,
            quick_picture: false,
            offcut: String::new(),
            recent: Vec::new(),
        }
    }
}

impl Settings {
    /// Sizes of the letters that can be chosen.
    pub const LETTERS: [(f32, &'static str); 4] =
        [(0.9, "small"), (1.0, "usual"), (1.25, "large"), (1.5, "very large")];

    /// The settings in `file`; the usual ones where there is none, or where it cannot be read.
    pub fn read(file: &Path) -> Self {
        let text = fs::read_to_string(file).unwrap_or_default();
        let read: Self = toml::from_str(&text).unwrap_or_default();
        let letters = if read.letters.is_finite() { read.letters.clamp(0.5, 3.0) } else { 1.0 };
        Self { letters, ..read }
    }

    /// Writes them to `file`, whole or not at all.
    ///
    /// # Errors
    /// A file that cannot be written.
    pub fn write(&self, file: &Path) -> io::Result<()> {
        let folder = file.parent().unwrap_or(Path::new(""));
        fs::create_dir_all(folder)?;
        let text = toml::to_string(self).map_err(io::Error::other)?;
        let temp = tempfile::NamedTempFile::new_in(folder)?;
        fs::write(temp.path(), text)?;
        temp.persist(file).map_err(|error| error.error)?;
        Ok(())
    }

    /// Remembers a cake that was opened or saved.
    pub fn remember(&mut self, cake: &Path) {
        self.recent.retain(|other| other != cake);
        self.recent.insert(0, cake.to_owned());
        self.recent.truncate(MOST_RECENT);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_and_what_is_broken_is_the_usual() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("deep/settings.toml");
        assert_eq!(Settings::read(&file), Settings::default());
        let mut settings = Settings { dark: true, letters: 1.25, ..Settings::default() };
        for name in ["a", "b", "a"] {
            settings.remember(Path::new(name));
        }
        assert_eq!(settings.recent, [PathBuf::from("a"), PathBuf::from("b")]);
        settings.write(&file).unwrap();
        assert_eq!(Settings::read(&file), settings);
        fs::write(&file, "letters = \"huge\"").unwrap();
        assert_eq!(Settings::read(&file), Settings::default());
    }
}
