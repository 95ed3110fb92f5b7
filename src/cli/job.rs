//! Flags → what the library is asked for.

use std::path::{Path, PathBuf};

use formats::model::{Model, PartKind, Stage};
use geom::{
    Tolerance,
    units::{Unit, parse_length},
};
use make::solids::{self, Entry};
use plan::Plan;

use super::error::CliError;

/// A length typed as a flag, mm.
pub fn length(text: &str, flag: &str) -> Result<f64, CliError> {
    let wrong =
        |what: String| CliError::Usage { what, fix: format!("give {flag} a length such as \"0.1 mm\"") };
    let mm = parse_length(text, Unit::Millimetre).map_err(|e| wrong(format!("{flag}: {e}")))?;
    if mm > 0.0 { Ok(mm) } else { Err(wrong(format!("{flag} must be above zero"))) }
}

/// A tolerance typed as a flag.
pub fn tolerance(text: &str, flag: &str) -> Result<Tolerance, CliError> {
    let mm = length(text, flag)?;
    Tolerance::new(mm).ok_or_else(|| CliError::Usage {
        what: format!("{flag} cannot be {mm} mm"),
        fix: "give a length above zero".into(),
    })
}

/// The folder beside the cake file that is written into unless another is named: called after the file and `what`.
pub fn folder_beside(cake: &Path, what: &str) -> PathBuf {
    let name = cake.file_name().unwrap_or_default().to_string_lossy();
    let stem = name.split('.').find(|part| !part.is_empty()).unwrap_or("cake");
    cake.with_file_name(format!("{stem}-{what}"))
}

/// The solids of a mock-up: everything there is once the cake is made.
pub fn mock_up(catalogue: &[Entry]) -> Vec<Entry> {
    let shown = |entry: &&Entry| {
        !matches!(
            entry.kind,
            PartKind::RawLayer
                | PartKind::RawFilling
                | PartKind::Offcut
                | PartKind::Shortfall
                | PartKind::Finished
                | PartKind::Line
        )
    };
    catalogue.iter().filter(shown).cloned().collect()
}

/// What a cake has come to, as it is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum StageName {
    /// The stack before carving.
    Raw,
    /// Carved, without coverings.
    Carved,
    /// As the client sees it; so it is if left out.
    Finished,
}

impl From<StageName> for Stage {
    fn from(name: StageName) -> Self {
        match name {
            StageName::Raw => Self::Raw,
            StageName::Carved => Self::Carved,
            StageName::Finished => Self::Finished,
        }
    }
}

/// The solids of `plan` that are shown at `stage`.
pub fn shown_at(plan: &Plan, catalogue: &[Entry], stage: Stage) -> Vec<Entry> {
    // The finished line stands for the finished cake in a catalogue: its zones are solids of their own here.
    let named = |entry: &Entry| match (entry.kind, entry.index) {
        (PartKind::Line, 0) => solids::finished(plan),
        _ => vec![entry.clone()],
    };
    catalogue.iter().flat_map(named).filter(|entry| stage.shows(entry.kind)).collect()
}

/// The solids called `names`.
pub fn chosen(catalogue: &[Entry], names: &[String]) -> Result<Vec<Entry>, CliError> {
    if let Some(unknown) = names.iter().find(|name| !catalogue.iter().any(|entry| &entry.name == *name)) {
        let known: Vec<&str> = catalogue.iter().map(|entry| entry.name.as_str()).collect();
        let fix = match cakefile::nearest(unknown, known.iter().copied()) {
            Some(close) => format!("did you mean \"{close}\"?"),
            None => format!("choose from: {}", known.join(", ")),
        };
        return Err(CliError::Usage { what: format!("this cake has no solid called \"{unknown}\""), fix });
    }
    Ok(catalogue.iter().filter(|entry| names.contains(&entry.name)).cloned().collect())
}

/// The solids that were asked for by name, none of them empty.
pub fn built(plan: &Plan, asked: &[Entry], tolerance: Tolerance) -> Result<Model, CliError> {
    let model = solids::build_all(plan, asked, tolerance)?;
    match asked.iter().find(|entry| !model.parts.iter().any(|part| part.name == entry.name)) {
        None => Ok(model),
        Some(empty) => Err(CliError::Usage {
            what: format!("the solid \"{}\" of this cake is empty", empty.name),
            fix: "leave it out, or see crumbline plan for what the cuts leave".into(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_with_their_unit() {
        assert_eq!(length("0.1 mm", "--error").unwrap(), 0.1);
        assert!(length("-1 mm", "--error").is_err());
        assert!(length("soft", "--error").is_err());
    }
}
