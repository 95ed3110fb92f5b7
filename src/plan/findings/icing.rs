//! Rolled icing that cannot be laid as the cake file asks.

use cakefile::Severity;

use super::{Finding, FindingCode};
use crate::{
    design::Design,
    design::IcingWay,
    fix::{FileEdit, FileValue, Fix},
    icing::{Icing, way_name},
};

/// A finding for every covering of `laid` that is not laid as `design` asks.
pub fn laid_otherwise(design: &Design, laid: &[Icing]) -> Vec<Finding> {
    let style = design.style;
    let refused = laid.iter().filter_map(|icing| {
        let covering = design.coverings.get(icing.covering)?;
        let (why, asked) = (icing.refused?, covering.way?);
        let (asked, planned, way) = (in_words(asked), in_words(icing.way), way_name(icing.way));
        let name = match icing.zone.and_then(|zone| covering.zones.get(zone)) {
            Some(zone) => format!("zone \"{}\"", zone.name),
            None => covering.material.name.clone(),
        };
        Some(Finding {
            severity: Severity::Warning,
            code: FindingCode::IcingWay,
            about: covering.material.name.clone(),
            message: format!(
                "the {name} cannot be laid {asked}: {}; it is planned {planned}",
                why.told(style)
            ),
            fix: Fix::edit(
                format!("ask for it {planned} (way = \"{way}\"), or leave the way to the plan, or change the shape"),
                FileEdit::set(covering.field.key("way"), FileValue::Text(way.into())),
            ),
            place: None,
            field: covering.field.key("way"),
        })
    });
    refused.collect()
}

/// How a covering is laid, as a maker says it.
fn in_words(way: IcingWay) -> &'static str {
    match way {
        IcingWay::Draped => "in one draped sheet",
        IcingWay::DiscAndWrap => "as a top disc and a wrapped side",
        IcingWay::Panels => "in panels",
        IcingWay::Bands => "in bands",
    }
}
