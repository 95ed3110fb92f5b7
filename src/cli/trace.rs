//! `trace`: the outline in a picture as a drawing at true size, and that outline over the picture.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use glam::{DVec2, dvec2};

use super::{
    error::CliError,
    job,
    run::{Outcome, print},
};
use cakefile::world::{Content, Disk, FileBytes, World};
use formats::export::{FileSet, png};
use geom::{
    trace::{self, CardUse, Options, Picture, Scale, TraceError},
    units::Unit,
};
use make::trace_overlay::{PER_MM, TraceOverlay};

/// Flags of `trace`. Those after `--width` mean what the keys of `picture` in a cake file mean.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("size").args(["height", "width", "marks"]))]
#[command(
    after_help = "The size is seen from the scale card (crumbline card) in the picture, or given: --height, --width, \
                        or --marks and --distance.\nExample, the card lying beside the template: crumbline trace \
                        photograph.jpg template.svg"
)]
pub struct TraceArgs {
    /// The picture (PNG, JPEG or GIF).
    pub picture: PathBuf,
    /// The drawing to write (SVG). Beside it goes a PNG of the outline over the picture.
    pub drawing: PathBuf,
    /// How high the outline really is.
    #[arg(long, value_name = "LENGTH")]
    pub height: Option<String>,
    /// How wide the outline really is.
    #[arg(long, value_name = "LENGTH")]
    pub width: Option<String>,
    /// Two points of the picture that are `--distance` apart, as 120,80:120,1980: right and down from the upper
    /// left corner, in pixels.
    #[arg(long, value_name = "X,Y:X,Y", value_parser = marks, requires = "distance")]
    pub marks: Option<Marks>,
    /// How far apart the two marks really are.
    #[arg(long, value_name = "LENGTH", requires = "marks")]
    pub distance: Option<String>,
    /// Two more points, along a line that is really at right angles to that of `--marks`: a picture taken at a tilt
    /// from far off is put right along both. Perspective stays in; only the card takes it out.
    #[arg(long, hide_short_help = true, value_name = "X,Y:X,Y", value_parser = marks, requires = "marks", requires = "distance_across")]
    pub marks_across: Option<Marks>,
    /// How far apart those two really are.
    #[arg(long, hide_short_help = true, value_name = "LENGTH", requires = "marks_across")]
    pub distance_across: Option<String>,
    /// Do not look for the scale card. Otherwise it is used wherever it is seen: perspective is taken out of what
    /// lies flat in its plane, and it gives the scale unless a size is given.
    #[arg(long)]
    pub no_card: bool,
    /// Trace the half outline of a turned shape.
    #[arg(long)]
    pub turned: bool,
    /// Which half of a turned shape counts.
    #[arg(long, hide_short_help = true, value_name = "HALF", requires = "turned", default_value = "both")]
    pub half: Half,
    /// Where the axis of a turned shape or the centre line stands, in pixels from the left, at the foot.
    #[arg(long, hide_short_help = true, value_name = "PIXELS")]
    pub axis: Option<f64>,
    /// What separates the outline from its background. Found from the picture if left out.
    #[arg(long, hide_short_help = true, value_name = "WHAT")]
    pub separate_by: Option<SeparateBy>,
    /// Where that is cut, from 0 to 1. Found by Otsu's method if left out.
    #[arg(long, hide_short_help = true, value_name = "SHARE", value_parser = share)]
    pub threshold: Option<f64>,
    /// Whether the background is light or dark. Found from the picture's border if left out.
    #[arg(long, hide_short_help = true, value_name = "GROUND")]
    pub ground: Option<Background>,
    /// Spots and holes smaller than a disc of this diameter are dropped.
    #[arg(long, hide_short_help = true, value_name = "LENGTH", default_value = "2 mm")]
    pub speckle: String,
    /// Which regions are kept.
    #[arg(long, hide_short_help = true, value_name = "WHICH", default_value = "largest")]
    pub keep: Keep,
    /// Fill every hole, or with =false none. Left out: those of an outline that is drawn as a thin line, whose outside is
    /// taken.
    #[arg(long, hide_short_help = true, value_name = "BOOL", num_args = 0..=1, require_equals = true, default_missing_value = "true")]
    pub fill_holes: Option<bool>,
    /// How far the curves may stray from the edge in the picture. Half a pixel if left out (a whole one where
    /// edges are hard), but at least 0.05 mm.
    #[arg(long, hide_short_help = true, value_name = "LENGTH")]
    pub error: Option<String>,
    /// Leave the picture as it is, even if the base is not level.
    #[arg(long, hide_short_help = true)]
    pub no_straighten: bool,
}

/// Two points of a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Marks([DVec2; 2]);

macro_rules! choice {
    ($(#[$doc:meta])* $name:ident { $($(#[$variant_doc:meta])* $variant:ident),* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
        pub enum $name { $($(#[$variant_doc])* $variant),* }

        impl From<$name> for trace::$name {
            fn from(value: $name) -> Self {
                match value { $($name::$variant => Self::$variant),* }
            }
        }
    };
}

choice!(
    /// Which half of a turned shape counts.
    Half {
        /// The mean of both.
        Both,
        /// The left one, mirrored.
        Left,
        /// The right one.
        Right
    }
);
choice!(
    /// What separates the outline from its background.
    SeparateBy {
        /// Dark on light or light on dark.
        Brightness,
        /// Opaque on transparent.
        Transparency,
        /// Any colour that is not the border's.
        Colour
    }
);
choice!(
    /// How bright the background is.
    Background {
        /// The outline is darker.
        Light,
        /// The outline is lighter.
        Dark
    }
);
choice!(
    /// Which regions are kept.
    Keep {
        /// The one with the largest area.
        Largest,
        /// All that are no speckles.
        All
    }
);

fn marks(text: &str) -> Result<Marks, String> {
    let point = |text: &str| {
        let (right, down) = text.split_once(',')?;
        Some(dvec2(right.trim().parse().ok()?, down.trim().parse().ok()?))
    };
    let both = text.split_once(':').and_then(|(a, b)| Some(Marks([point(a)?, point(b)?])));
    both.ok_or_else(|| "write two points in pixels, as 120,80:120,1980".to_owned())
}

fn share(text: &str) -> Result<f64, String> {
    let share = text.parse().ok().filter(|share| (0.0..=1.0).contains(share));
    share.ok_or_else(|| "write a number from 0 to 1".to_owned())
}

/// Traces a picture and writes the drawing and the overlay, both or neither.
pub(super) fn trace(args: &TraceArgs) -> Result<Outcome, CliError> {
    let options = options(args)?;
    let overlay_path = overlay_path(&args.drawing)?;
    if same_file(&args.picture, &overlay_path) || same_file(&args.picture, &args.drawing) {
        return Err(CliError::Usage {
            what: format!("the picture {} would be written over", args.picture.display()),
            fix: "give the drawing another name".into(),
        });
    }
    let wrong = |error: TraceError| CliError::Usage {
        what: format!("{}: {error}", args.picture.display()),
        fix: error.fix(),
    };
    let picture = Picture::decode(&read(&args.picture)?.bytes).map_err(wrong)?;
    let traced = trace::trace(&picture, &options).map_err(wrong)?;
    let overlay = if args.turned {
        TraceOverlay::turned(traced, args.half.into()).map_err(wrong)?
    } else {
        TraceOverlay::whole(traced)
    };
    let name = args.picture.file_name().unwrap_or_default().to_string_lossy();
    let (under, page) = overlay.picture(&picture, &format!("{name}, traced"));
    drop(picture);
    let shown = png::drawn_over(&under, &page, PER_MM).ok_or_else(|| CliError::Usage {
        what: format!("{}: the picture cannot be drawn on", args.picture.display()),
        fix: "make it smaller".into(),
    })?;
    let mut set = FileSet::new();
    set.add(&args.drawing, |w| w.write_all(overlay.svg(&name).as_bytes()))?;
    set.add(&overlay_path, |w| png::write(w, &shown))?;
    let written = set.commit()?;
    let unlikely = overlay.trace.unlikely_size().map_or_else(String::new, |size| {
        format!(
            "  that is {} for a cake; here a number without a unit means {}: write \"20 cm\" or \"8 in\" for others\n",
            size.as_str(),
            Unit::Millimetre.sign(),
        )
    });
    let facts: String = overlay.facts().iter().map(|fact| format!("  {fact}\n")).collect();
    let files: String = written.iter().map(|path| format!("Wrote {}\n", path.display())).collect();
    let drawing = args.drawing.file_name().unwrap_or_default().to_string_lossy();
    let key = format!("In a cake file: svg = {{ file = \"{drawing}\", id = \"{}\" }}\n", overlay.id());
    print(&format!("{name}\n{facts}{unlikely}{files}{key}"))
}

fn options(args: &TraceArgs) -> Result<Options, CliError> {
    let length = |text: &Option<String>, flag| text.as_deref().map(|t| job::length(t, flag)).transpose();
    let (height, width) = (length(&args.height, "--height")?, length(&args.width, "--width")?);
    let distance = length(&args.distance, "--distance")?;
    let across = args.marks_across.zip(length(&args.distance_across, "--distance-across")?);
    let scale = match (height, width, args.marks.zip(distance), across) {
        (Some(height), ..) => Scale::Height(height),
        (_, Some(width), ..) => Scale::Width(width),
        (_, _, Some((Marks(marks), distance)), Some((Marks(more), across))) => {
            Scale::Crossed([(marks, distance), (more, across)])
        }
        (_, _, Some((Marks(marks), distance)), None) => Scale::Marks(marks, distance),
        (None, None, None, _) => Scale::Card,
    };
    Ok(Options {
        card: if args.no_card { CardUse::Ignored } else { CardUse::IfSeen },
        separate_by: args.separate_by.map(Into::into),
        threshold: args.threshold,
        background: args.ground.map(Into::into),
        speckle: job::length(&args.speckle, "--speckle")?,
        keep: args.keep.into(),
        fill_holes: if args.turned { Some(true) } else { args.fill_holes },
        error: length(&args.error, "--error")?,
        straighten: !args.no_straighten,
        axis: args.axis,
        ..Options::new(scale)
    })
}

/// Where the picture with the outline goes: beside the drawing.
fn overlay_path(drawing: &Path) -> Result<PathBuf, CliError> {
    let is_svg = drawing.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("svg"));
    let Some(stem) = drawing.file_stem().filter(|_| is_svg) else {
        return Err(CliError::Usage {
            what: format!("{} is no name for a drawing", drawing.display()),
            fix: "let it end in .svg".into(),
        });
    };
    Ok(drawing.with_file_name(format!("{}-traced.png", stem.to_string_lossy())))
}

fn same_file(a: &Path, b: &Path) -> bool {
    a.canonicalize().is_ok_and(|a| b.canonicalize().is_ok_and(|b| a == b))
}

fn read(path: &Path) -> Result<FileBytes, CliError> {
    Disk::new().read(path, Content::Picture).map_err(|error| CliError::Usage {
        what: format!("cannot read {}: {error}", path.display()),
        fix: "name a PNG, JPEG or GIF picture".into(),
    })
}
