//! The picture that an outline of the cake file names, traced and placed.

use glam::{DVec2, dvec2, dvec3};
use kurbo::{Affine, BezPath, Shape};

use super::{Placement, Reading, View, flattened, trace_words};
use cakefile::{
    Diagnostic, FieldPath, exactly_one,
    schema::{self, PictureOutline},
    world::{Beside, Content},
};
use geom::{
    Region, Tolerance, crossing,
    trace::{
        self, Background, CardUse, Half, HalfOutline, Keep, Options, Picture, Scale, SeparateBy, Trace,
        TraceError,
    },
    units::{Unit, UnitStyle},
};

/// Halves that differ by less are alike, mm.
const SAME: f64 = 0.05;

/// Halves that differ by more than this, of the width, are worth a warning.
const UNEVEN: f64 = 0.03;

/// What of a silhouette is lower or shorter than this part of its allowed error is no part of it.
const CLEANED: f64 = 0.5;

/// Reads a half outline or a detail.
pub(super) fn placed_path(
    source: &PictureOutline,
    placement: Placement,
    mut reading: Reading,
) -> Option<BezPath> {
    let turned = placement == Placement::OnAxis;
    let traced = traced(source, turned, turned, &mut reading)?;
    if turned {
        let half = match source.half.unwrap_or_default() {
            schema::Half::Both => Half::Both,
            schema::Half::Left => Half::Left,
            schema::Half::Right => Half::Right,
        };
        let halves = match traced.half_outline(half) {
            Ok(halves) => halves,
            Err(error) => return reading.refuse("axis", format!("{}: {error}", source.file), error.fix()),
        };
        note_fit(source, &traced, halves.profile.error, &mut reading);
        note_halves(source, &traced, &halves, half, &mut reading);
        return Some(halves.profile.path);
    }
    let fitted = traced.outline();
    note_fit(source, &traced, fitted.error, &mut reading);
    let middle = fitted.path.bounding_box().center();
    Some(Affine::translate(-middle.to_vec2()) * fitted.path)
}

/// Reads a whole outline, filled: standing on y = 0, or seen from above about its middle.
pub(super) fn region(
    source: &PictureOutline,
    view: View,
    tolerance: Tolerance,
    reading: Reading,
) -> Option<Region> {
    placed_region(source, view, tolerance, reading).map(|(region, ..)| region)
}

/// [`region`] with the trace that it was made of, and how far it was moved from there, mm.
fn placed_region(
    source: &PictureOutline,
    view: View,
    tolerance: Tolerance,
    mut reading: Reading,
) -> Option<(Region, Trace, DVec2)> {
    let upright = view == View::Upright;
    let traced = traced(source, false, upright, &mut reading)?;
    let fitted = traced.outline();
    let region = Region::new(flattened(&fitted.path, tolerance));
    let (lo, hi) = region.bounds()?;
    if !upright {
        note_fit(source, &traced, fitted.error, &mut reading);
        let middle = (lo + hi) / 2.0;
        let across = if source.axis.is_some() { 0.0 } else { middle.x };
        let moved = -dvec2(across, middle.y);
        return Some((region.placed(0.0, moved).snapped(), traced, moved));
    }
    // The base is where the picture's lies; a curve that was smoothed may dip below it.
    let above = if traced.is_level() { region.between(0.0, hi.y) } else { region };
    let low = above.bounds()?.0.y;
    let above = above.placed(0.0, dvec2(0.0, -low));
    // What is smaller than the error of the trace says nothing of what was drawn.
    let smaller = CLEANED * traced.allowed;
    let clean = crossing::cleaned(&above, smaller);
    let off = crossing::apart(&above, &clean).unwrap_or(2.0 * smaller);
    note_fit(source, &traced, fitted.error + off, &mut reading);
    let (lo, hi) = clean.bounds()?;
    // Smoothing and cleaning may have moved the ends between which the centre line stands.
    let across = if source.axis.is_some() { 0.0 } else { (lo.x + hi.x) / 2.0 };
    Some((clean.placed(0.0, dvec2(-across, 0.0)).snapped(), traced, dvec2(-across, -low)))
}

/// The trace of a picture, and how far its outline was moved to where it stands on the cake.
#[derive(Debug, Clone)]
pub struct TracedPicture {
    /// The trace.
    pub trace: Trace,
    /// How far its outline was moved, mm.
    pub moved: DVec2,
}

impl TracedPicture {
    /// Traces the picture that the outline at `field` names: half of a turned shape where it is seen from nowhere.
    /// `None` where it cannot be.
    pub fn of(
        source: &PictureOutline,
        view: Option<View>,
        unit: Unit,
        field: &FieldPath,
        files: &Beside<'_>,
    ) -> Option<Self> {
        let mut problems = Vec::new();
        let mut reading = Reading::new(unit, field.clone(), files, &mut problems);
        match view {
            None => Some(Self { trace: traced(source, true, true, &mut reading)?, moved: DVec2::ZERO }),
            Some(view) => {
                let (_, trace, moved) = placed_region(source, view, Tolerance::PREVIEW, reading)?;
                Some(Self { trace, moved })
            }
        }
    }

    /// The pixel, [right, down], that the point `p` of the outline lies on in the picture; mm.
    pub fn pixel_of(&self, p: DVec2) -> DVec2 {
        self.trace.pixel_of(p - self.moved)
    }
}

/// Traces the picture, for a half outline if `turned`; its base is levelled if the outline `stands`.
fn traced(source: &PictureOutline, turned: bool, stands: bool, reading: &mut Reading) -> Option<Trace> {
    if !turned && source.half.is_some() {
        return reading.refuse("half", "only a turned shape is made of a half", "leave it out");
    }
    let options = options(source, turned, stands, reading)?;
    let bytes = reading.load(&source.file, Content::Picture)?;
    match Picture::decode(&bytes).and_then(|picture| trace::trace(&picture, &options)) {
        Ok(traced) => {
            note_picture(source, &traced, reading);
            note_scale(source, &traced, reading);
            // A detail may be small, and a shape seen from above is as wide as those that stand.
            if stands {
                note_size(source, &traced, reading);
            }
            Some(traced)
        }
        Err(error @ TraceError::NoScale) => {
            let message = "nothing says how large the outline in the picture is";
            reading.problems.push(Diagnostic::error(reading.field.clone(), message).fix(error.fix()));
            None
        }
        Err(error) => reading.refuse("file", format!("{}: {error}", source.file), error.fix()),
    }
}

fn options(source: &PictureOutline, turned: bool, stands: bool, reading: &mut Reading) -> Option<Options> {
    let unit = reading.unit;
    let mut size = |value: &Option<schema::Size>, key: &str| {
        reading.value(value.as_ref().map(|size| size.to_mm(unit)), key)
    };
    let (height, width, distance) =
        (size(&source.height, "height"), size(&source.width, "width"), size(&source.distance, "distance"));
    let across = size(&source.distance_across, "distance_across");
    let (speckle, error) = (size(&source.speckle, "speckle"), size(&source.error, "error"));
    let (height, width, distance, speckle, error) = (height?, width?, distance?, speckle?, error?);
    let across = across?;
    let given = [("height", height.is_some()), ("width", width.is_some()), ("marks", source.marks.is_some())];
    let by_card = given.iter().all(|(_, given)| !given);
    let kind = if by_card {
        "card"
    } else {
        exactly_one(&given, &reading.field).map_err(|problem| reading.problems.push(problem)).ok()?
    };
    for (marks, length, names) in [
        (source.marks, distance, ["marks", "distance"]),
        (source.marks_across, across, ["marks_across", "distance_across"]),
    ] {
        if marks.is_some() != length.is_some() {
            let message = format!("`{}` and `{}` belong together", names[0], names[1]);
            reading.problems.push(
                Diagnostic::error(reading.field.clone(), message)
                    .fix(format!("`{}` says how far apart the two marks really are", names[1])),
            );
            return None;
        }
    }
    if across.is_some() && kind != "marks" {
        return reading.refuse(
            "marks_across",
            "`marks_across` are a second pair beside `marks`, and there is no first one".to_owned(),
            "give `marks` and `distance` too",
        );
    }
    let points = |marks: [[f64; 2]; 2]| marks.map(|[right, down]| dvec2(right, down));
    let scale = match (kind, source.marks_across, across) {
        ("height", ..) => Scale::Height(height?),
        ("width", ..) => Scale::Width(width?),
        ("card", ..) => Scale::Card,
        (_, Some(marks), Some(across)) => {
            Scale::Crossed([(points(source.marks?), distance?), (points(marks), across)])
        }
        _ => Scale::Marks(points(source.marks?), distance?),
    };
    if let Some(threshold) = source.threshold.filter(|t| !(0.0..=1.0).contains(t)) {
        return reading.refuse(
            "threshold",
            format!("a threshold of {threshold} cannot be"),
            "give a number from 0 (black or transparent) to 1 (white or opaque), or leave it out",
        );
    }
    let usual = Options::new(scale);
    Some(Options {
        separate_by: source.separate_by.map(|by| match by {
            schema::SeparateBy::Brightness => SeparateBy::Brightness,
            schema::SeparateBy::Transparency => SeparateBy::Transparency,
            schema::SeparateBy::Colour => SeparateBy::Colour,
        }),
        threshold: source.threshold,
        card: match source.card {
            None => CardUse::IfSeen,
            Some(true) => CardUse::Needed,
            Some(false) => CardUse::Ignored,
        },
        background: source.ground.map(|ground| match ground {
            schema::Ground::Light => Background::Light,
            schema::Ground::Dark => Background::Dark,
        }),
        speckle: speckle.unwrap_or(usual.speckle),
        keep: match source.keep.unwrap_or_default() {
            schema::Keep::Largest => Keep::Largest,
            schema::Keep::All => Keep::All,
        },
        fill_holes: if turned { Some(true) } else { source.fill_holes },
        error,
        straighten: stands && source.straighten.unwrap_or(true),
        axis: source.axis,
        ..usual
    })
}

/// What was found in the picture.
fn note_picture(
    source: &PictureOutline,
    traced: &Trace,
    Reading { unit, field, problems, .. }: &mut Reading,
) {
    let file = &source.file;
    if let Some(width) = traced.line {
        let width = UnitStyle::new(*unit).length_fine(width);
        let message =
            format!("{file}: a line drawing: the outside of its line, {width} wide, is taken as the outline");
        problems.push(
            Diagnostic::note(field.key("fill_holes"), message)
                .fix("say `fill_holes = false` if the line itself is meant"),
        );
    }
    if traced.straightened != 0.0 {
        let way = if traced.straightened > 0.0 { "clockwise" } else { "counter-clockwise" };
        let message =
            format!("{file}: turned by {:.2}° {way}, so that the base is level", traced.straightened.abs());
        problems.push(Diagnostic::note(field.key("straighten"), message));
    }
    if traced.left_out > 0 {
        let regions = if traced.left_out == 1 {
            "one more region".to_owned()
        } else {
            format!("{} more regions", traced.left_out)
        };
        problems.push(
            Diagnostic::warning(
                field.key("keep"),
                format!("{file}: {regions} in the picture, no mere speckle, left out"),
            )
            .fix("say `keep = \"all\"` to keep every region, or give a larger `speckle`"),
        );
    }
    if traced.cut_off {
        problems.push(
            Diagnostic::warning(
                field.key("file"),
                format!("{file}: the outline runs along the edge of the picture, as if cut off there"),
            )
            .fix("leave room all round the outline"),
        );
    }
}

/// What the card, or two distances, say of the scale.
fn note_scale(source: &PictureOutline, traced: &Trace, Reading { unit, field, problems, .. }: &mut Reading) {
    let style = UnitStyle::new(*unit);
    for remark in trace_words::scale(traced, style) {
        let message = format!("{}: {}", source.file, remark.text);
        let problem = match remark.fix {
            Some(fix) => Diagnostic::warning(field.key("file"), message).fix(fix),
            None => Diagnostic::note(field.key("file"), message),
        };
        problems.push(problem);
    }
}

/// A size that is likelier a slip of the unit.
fn note_size(source: &PictureOutline, traced: &Trace, Reading { unit, field, problems, .. }: &mut Reading) {
    let Some(size) = traced.unlikely_size() else { return };
    let (key, given) = match (&source.height, &source.width) {
        (Some(_), _) => ("height", "the `height`"),
        (None, Some(_)) => ("width", "the `width`"),
        (None, None) if source.marks.is_none() => {
            ("file", "how the card was printed (its bars measure 100 mm and 6 in)")
        }
        (None, None) => ("distance", "the `distance` of the marks"),
    };
    let message = format!(
        "{}: the outline is {}, {} for a cake; a number without a unit means {} in this file",
        source.file,
        UnitStyle::new(*unit).sides(&[traced.size.x, traced.size.y]),
        size.as_str(),
        unit.sign(),
    );
    problems.push(
        Diagnostic::warning(field.key(key), message)
            .fix(format!("look at {given}, and write its unit, such as \"20 cm\"")),
    );
}

/// How closely the outline follows the picture.
fn note_fit(
    source: &PictureOutline,
    traced: &Trace,
    error: f64,
    Reading { unit, field, problems, .. }: &mut Reading,
) {
    let message = format!(
        "{}: traced within {error:.2} mm of its edge, {} at {:.3} mm a pixel; {} cut at {:.0} %",
        source.file,
        UnitStyle::new(*unit).sides(&[traced.size.x, traced.size.y]),
        traced.pixel,
        match traced.separated_by {
            SeparateBy::Brightness => "brightness",
            SeparateBy::Transparency => "opacity",
            SeparateBy::Colour => "colour",
        },
        traced.threshold * 100.0,
    );
    problems.push(
        Diagnostic::note(field.key("file"), message)
            .fix("look at it with `crumbline trace`, which draws the outline over the picture"),
    );
}

/// How alike the halves of a turned shape are.
fn note_halves(
    source: &PictureOutline,
    traced: &Trace,
    halves: &HalfOutline,
    half: Half,
    Reading { unit, field, problems, .. }: &mut Reading,
) {
    let (wider, by) = (if halves.asymmetry > 0.0 { "right" } else { "left" }, halves.asymmetry.abs());
    let place = dvec3(halves.at_radius.copysign(halves.asymmetry), 0.0, halves.at_height);
    let style = UnitStyle::new(*unit);
    let taken = match half {
        Half::Both => "their mean is taken",
        Half::Left => "the left one is taken",
        Half::Right => "the right one is taken",
    };
    let file = &source.file;
    let message = if by < SAME {
        format!("{file}: both halves are alike; {taken}")
    } else {
        format!(
            "{file}: the {wider} half is wider by up to {}, at height {} ({} on the mean); {taken}",
            style.length_alone(by),
            style.length_alone(halves.at_height),
            style.length_alone(halves.mean),
        )
    };
    let problem = if by > UNEVEN * traced.size.x && half == Half::Both {
        Diagnostic::warning(field.key("half"), message)
            .fix("choose the better half with `half = \"left\"` or `half = \"right\"`, or say where the `axis` stands")
    } else {
        Diagnostic::note(field.key("half"), message)
    };
    problems.push(problem.on_cake(place));
}
