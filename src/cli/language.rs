//! The language of the pages that leave the program.

use std::path::Path;

use clap::Args;

use super::{cake::FileArgs, error::CliError};
use cakefile::world::{Content, World};
use make::language::{Language, LanguageError};

/// The flag that names it.
#[derive(Debug, Args)]
pub struct LanguageArgs {
    /// The language: en, de, or a file with the words of another (.toml). Pages without words in it stay English.
    #[arg(long, value_name = "LANGUAGE", default_value = "en")]
    pub language: String,
}

impl LanguageArgs {
    /// The language that is named, files through what `files` may read.
    ///
    /// # Errors
    /// A language that is not known, or a file that is wrong.
    pub fn read(&self, files: &FileArgs) -> Result<Language, CliError> {
        let refused = |error: LanguageError| CliError::Usage {
            what: format!("--language {}: {error}", self.language),
            fix: error.fix().into(),
        };
        if !self.language.ends_with(".toml") {
            return Language::shipped(&self.language).map_err(refused);
        }
        let read = files.disk().read(Path::new(&self.language), Content::Text);
        let bytes = read.map_err(|error| refused(LanguageError::Wrong(error.to_string())))?.bytes;
        Language::read(&String::from_utf8_lossy(&bytes)).map_err(refused)
    }
}
