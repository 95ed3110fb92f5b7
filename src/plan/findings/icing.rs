//! Rolled icing that cannot be laid as the cake file asks.

use cakefile::Severity;

use super::{Finding, FindingCode};
use crate::{
    design::Design,
    fix::{FileEdit, FileValue, Fix},
    icing::{Icing, way_name},
};

/// A finding for every covering of `laid` that is not laid as `design` asks.
pub fn laid_otherwise(design: &Design, laid: &[Icing]) -> Vec<Finding> {
    let style = design.style;
    let refused = laid.iter().filter_map(|icing| {
        let covering = design.coverings.get(icing.covering)?;
        let (why, asked) = (icing.refused?, covering.way?);
        let (asked, way) = (way_name(asked), way_name(icing.way));
        Some(Finding {
            severity: Severity::Warning,
            code: FindingCode::IcingWay,
            about: covering.material.name.clone(),
            message: format!(
                "the {} cannot be laid `way = \"{asked}\"`: {}; it is planned as \"{way}\"",
                covering.material.name,
                why.told(style)
            ),
            fix: Fix::edit(
                format!("write `way = \"{way}\"`, or leave `way` out, or change the shape"),
                FileEdit::set(covering.field.key("way"), FileValue::Text(way.into())),
            ),
            place: None,
            field: covering.field.key("way"),
        })
    });
    refused.collect()
}
