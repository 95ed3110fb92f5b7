//! Limits, accuracy, paper, printer, support and the order.

use std::collections::BTreeMap;

use cakefile::schema::{
    Accuracy, Angle, Carving, Colour, Cups, Hidden, HiddenThing, IcingSheets, Limits, MassUnit, NamedColour,
    Offer, OfferedColours, OfferedSize, Paper, PaperSize, Printing, Support, Temperature, TemperatureUnit,
    Units, VolumeUnit,
};
use cakefile::schema_pantry::Order;

use super::Tape;

pub fn any_limits(t: &mut Tape) -> Limits {
    Limits {
        spare: t.maybe(2, |t| t.length(0.0, 20.0)),
        overhang: t.maybe(2, |t| t.length(0.0, 80.0)),
        cover: t.maybe(2, |t| t.length(0.0, 20.0)),
    }
}

/// Coarse, so that many cakes are made in a short time.
pub fn any_accuracy(t: &mut Tape) -> Accuracy {
    Accuracy { preview: Some(t.size_of(0.8)), tool: Some(t.size_of(0.4)), grid: Some(t.size_of(6.0)) }
}

pub fn any_paper(t: &mut Tape) -> Paper {
    Paper {
        size: t.maybe(2, |t| *t.pick(&[PaperSize::A4, PaperSize::A3, PaperSize::Letter, PaperSize::Tabloid])),
        margin: t.maybe(3, |t| t.size(4.0, 20.0)),
        overlap: t.maybe(3, |t| t.size(4.0, 20.0)),
    }
}

pub fn any_printing(t: &mut Tape) -> Printing {
    Printing {
        bed: t.maybe(2, |t| [t.size(120.0, 400.0), t.size(120.0, 400.0), t.size(100.0, 400.0)]),
        nozzle: t.maybe(4, |t| t.size(0.2, 0.4)),
        thickness: t.maybe(4, |t| t.size(3.0, 6.0)),
        scraper_edge: t.maybe(4, |t| t.size(0.85, 2.0)),
        blade: t.maybe(4, |t| t.size(0.85, 1.5)),
        clearance: t.maybe(4, |t| t.size(0.1, 0.5)),
        dowel_clearance: t.maybe(4, |t| t.size(0.1, 1.0)),
        cradle_gap: t.maybe(4, |t| t.size(0.5, 4.0)),
        guide_tolerance: t.maybe(4, |t| t.size(0.2, 3.0)),
        stand_below: t.maybe(4, |t| t.length(0.0, 40.0)),
        bearings: t.maybe(3, |t| t.list(0, 3, Tape::angle)),
        filament: t.maybe(6, |t| t.size(1.5, 3.0)),
        plastic_density: t.maybe(6, |t| t.share(0.9, 1.5)),
        infill: t.maybe(4, |t| t.share(0.0, 1.0)),
    }
}

pub fn any_carving(t: &mut Tape) -> Carving {
    Carving { pass: t.maybe(3, |t| t.size(2.0, 12.0)) }
}

pub fn any_icing(t: &mut Tape) -> IcingSheets {
    IcingSheets {
        allowance: t.maybe(3, |t| t.length(0.0, 30.0)),
        pattern_error: t.maybe(3, |t| t.size(2.0, 12.0)),
    }
}

pub fn any_units(t: &mut Tape) -> Units {
    Units {
        mass: t.maybe(2, |t| *t.pick(&[MassUnit::Gram, MassUnit::Ounce])),
        volume: t.maybe(2, |t| *t.pick(&[VolumeUnit::Millilitre, VolumeUnit::Cup])),
        temperature: t.maybe(2, |t| *t.pick(&[TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit])),
        cups: t.maybe(2, |t| *t.pick(&[Cups::Us, Cups::Metric, Cups::Australian])),
    }
}

pub fn any_support(t: &mut Tape) -> Support {
    Support {
        room: t.maybe(3, |t| Temperature::from(t.number(5.0, 35.0))),
        warmest: t.maybe(3, |t| Temperature::from(t.number(20.0, 40.0))),
        safety: t.maybe(3, |t| t.share(1.0, 4.0)),
        tilt: t.maybe(4, |t| Angle::from(t.number(1.0, 20.0))),
        braking: t.maybe(4, |t| t.share(0.1, 1.0)),
        cornering: t.maybe(4, |t| t.share(0.1, 1.0)),
        bump: t.maybe(4, |t| t.share(0.0, 0.9)),
        ramp: t.maybe(4, |t| Angle::from(t.number(1.0, 20.0))),
        mat: t.maybe(4, |t| t.chance(2)),
        wedged: t.maybe(2, |t| t.chance(2)),
        apart: None,
        two_people_kg: t.maybe(4, |t| t.share(5.0, 25.0)),
        small_children: t.maybe(3, |t| t.chance(2)),
        hidden: t.list(0, 3, |t| Hidden {
            what: *t.pick(&[
                HiddenThing::Toothpick,
                HiddenThing::Skewer,
                HiddenThing::Wire,
                HiddenThing::Pin,
                HiddenThing::Straw,
                HiddenThing::Bolt,
            ]),
            count: t.count(1, 9) as u32,
            place: t.maybe(2, Tape::name),
        }),
    }
}

pub fn any_order(t: &mut Tape) -> Order {
    let deliver = |t: &mut Tape| {
        let time = format!(
            "20{}-{:02}-{:02} {:02}:00",
            t.count(26, 60),
            t.count(1, 12),
            t.count(1, 28),
            t.count(0, 23)
        );
        time.parse().expect("a day in the calendar")
    };
    Order {
        client: t.maybe(2, Tape::name),
        deliver: t.maybe(2, deliver),
        travel: t.maybe(2, |t| t.share(0.0, 300.0)),
        serves: t.maybe(2, |t| t.count(1, 400) as u32),
        without: t
            .maybe(3, |t| t.list(0, 3, |t| (*t.pick(&["nuts", "gluten", "Milk", "kiwi", ""])).to_owned())),
        remarks: t.maybe(3, Tape::name),
    }
}

/// Sizes, and colours of what the cake has by these names.
pub fn any_offer(t: &mut Tape, names: &[String]) -> Offer {
    let sizes = t.list(0, 3, |t| (t.count(1, 400) as u32, t.maybe(2, |t| t.share(0.0, 900.0))));
    let sizes: BTreeMap<u32, Option<f64>> = sizes.into_iter().collect();
    let most = if names.is_empty() { 0 } else { 2 };
    let of = |t: &mut Tape| t.list(1, 2, |t| t.pick(names).clone());
    // Each name once: what is drawn is told apart by its number.
    let named = |t: &mut Tape| {
        let colours = t.list(1, 3, |t| (t.name(), t.colour()));
        let numbered = |(i, (name, colour)): (usize, (String, Colour))| NamedColour {
            name: format!("{i} {name}.", name = plain(&name)),
            colour,
        };
        colours.into_iter().enumerate().map(numbered).collect()
    };
    let drawn = t.list(0, most, |t| (t.name(), of(t), named(t)));
    let colours = drawn.into_iter().enumerate().map(|(i, (name, of, colours))| OfferedColours {
        name: format!("{i} {name}.", name = plain(&name)),
        of,
        colours,
    });
    Offer {
        sizes: sizes.into_iter().map(|(serves, price)| OfferedSize { serves, price }).collect(),
        colours: colours.collect(),
    }
}

/// One line of text.
fn plain(name: &str) -> String {
    formats::escape::line(name).into_owned()
}
