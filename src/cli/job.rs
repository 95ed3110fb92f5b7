//! Flags → what the library is asked for.

use formats::model::{Model, Part, PartKind};
use geom::{
    Tolerance,
    units::{Unit, parse_length},
};

use super::error::CliError;

/// A length typed as a flag, mm.
pub fn length(text: &str, flag: &str) -> Result<f64, CliError> {
    let wrong =
        |what: String| CliError::Usage { what, mend: format!("give {flag} a length such as \"0.1 mm\"") };
    let mm = parse_length(text, Unit::Millimetre).map_err(|e| wrong(format!("{flag}: {e}")))?;
    if mm > 0.0 { Ok(mm) } else { Err(wrong(format!("{flag} must be above zero"))) }
}

/// A tolerance typed as a flag.
pub fn tolerance(text: &str, flag: &str) -> Result<Tolerance, CliError> {
    let mm = length(text, flag)?;
    Tolerance::new(mm).ok_or_else(|| CliError::Usage {
        what: format!("{flag} cannot be {mm} mm"),
        mend: "give a length above zero".into(),
    })
}

/// The parts of a mock-up: everything there is once the cake is made.
pub fn mock_up(model: Model) -> Model {
    let shown = |part: &Part| {
        !matches!(
            part.kind,
            PartKind::RawLayer
                | PartKind::RawFilling
                | PartKind::Offcut
                | PartKind::Shortfall
                | PartKind::Finished
                | PartKind::Line
        )
    };
    let parts = model.parts.into_iter().filter(shown).collect();
    Model { name: model.name, unit: model.unit, parts, ..Model::default() }
}

/// The parts of `model` called `names`.
pub fn chosen(model: Model, names: &[String]) -> Result<Model, CliError> {
    if let Some(unknown) = names.iter().find(|name| !model.parts.iter().any(|part| &part.name == *name)) {
        let known: Vec<&str> = model.parts.iter().map(|part| part.name.as_str()).collect();
        let mend = match cakefile::nearest(unknown, known.iter().copied()) {
            Some(close) => format!("did you mean \"{close}\"?"),
            None => format!("choose from: {}", known.join(", ")),
        };
        return Err(CliError::Usage { what: format!("this cake has no solid called \"{unknown}\""), mend });
    }
    let parts = model.parts.into_iter().filter(|part| names.contains(&part.name)).collect();
    Ok(Model { name: model.name, unit: model.unit, parts, ..Model::default() })
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
