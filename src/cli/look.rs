//! Pictures and the window.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use clap::Args;
use glam::{DVec2, DVec3, Vec2Swizzles};
use image::{ImageFormat, RgbaImage};

use super::{
    cake::{CakeArgs, FileArgs, configuration, own_pantry},
    error::CliError,
    job, log,
    progress::ProgressBars,
    run::{Outcome, print},
    share::SharePictures,
    talk::note,
};
use formats::{
    drawing::{Drawing, Page},
    export::{FileSet, pdf::pdf, write_atomic},
    model::Model,
};
use geom::Tolerance;
use make::{language::Language, overview::Overview, solids};
use panels::workshop::Folders;
use plan::{Plan, design::Paper, extent::standing};
use shop::share::{Elevation, PICTURE_HIGH, SheetViews, Sight, WIDE};
use studio::{
    self, Background, Lens, OffcutView, PictureOptions, Section, Showing, Simplified, Stage, Studio, View,
    ViewerError, WindowOptions,
};

/// Flags of `picture`.
#[derive(Debug, Args)]
pub struct PictureArgs {
    #[command(flatten)]
    pub source: CakeArgs,
    /// The picture to write, as .png; a sheet may also be .pdf, a turntable .gif.
    pub file: PathBuf,
    /// front, side, back, top, three-quarter, or BEARING,ELEVATION in degrees.
    #[arg(long, value_parser = text_of::<View>)]
    pub view: Option<View>,
    /// True to scale instead of as a camera sees it.
    #[arg(long)]
    pub orthographic: bool,
    /// Width and height in pixels, each up to 4096.
    #[arg(long, default_value = "1600x1200", value_parser = size)]
    pub size: (u32, u32),
    /// raw, carved, coated, finished, or a fraction from 0 to 1.
    #[arg(long, default_value = "carved", value_parser = text_of::<Stage>)]
    pub stage: Stage,
    /// How the offcut is shown: cut-away, halves, depth, none.
    #[arg(long, value_parser = text_of::<OffcutView>)]
    pub offcut: Option<OffcutView>,
    /// With halves: the bearing that the carved one faces.
    #[arg(long, value_name = "DEGREES", default_value_t = 100.0)]
    pub carved_half: f64,
    /// With halves: how much of it is lifted off, 0 to 1.
    #[arg(long, value_name = "SHARE", default_value_t = 1.0)]
    pub lifted: f64,
    /// Cut open: "height 80 mm", "bearing 90" or "across 0 mm".
    #[arg(long, value_parser = section)]
    pub section: Option<Section>,
    /// Leave out the ghost of the raw stack.
    #[arg(long)]
    pub no_ghost: bool,
    /// Pull the layers this far apart, as "20 mm".
    #[arg(long, value_name = "LENGTH")]
    pub pull_apart: Option<String>,
    /// Transparent background, with the shadow.
    #[arg(long)]
    pub transparent: bool,
    /// Leave out title and legend.
    #[arg(long)]
    pub no_legend: bool,
    /// Leave out height and width.
    #[arg(long)]
    pub no_dimensions: bool,
    /// Show what carries what: loads, centres of mass, edges to tip over.
    #[arg(long)]
    pub loads: bool,
    /// How many renders are averaged: more is softer and slower.
    #[arg(long, conflicts_with = "draft")]
    pub samples: Option<u32>,
    /// A quick picture: four renders.
    #[arg(long)]
    pub draft: bool,
    /// One sheet: of four "views", or of the "steps" of the making.
    #[arg(long, value_name = "SHEET", num_args = 0..=1, default_missing_value = "views")]
    #[arg(conflicts_with = "turntable", value_parser = ["views", "steps"], hide_possible_values = true)]
    pub sheet: Option<String>,
    /// Turn the cake once round in this many pictures: .gif or numbered .png.
    #[arg(long, value_name = "STEPS")]
    pub turntable: Option<u32>,
}

fn text_of<T: std::str::FromStr<Err = ViewerError>>(text: &str) -> Result<T, String> {
    text.parse().map_err(|error: ViewerError| error.to_string())
}

fn size(text: &str) -> Result<(u32, u32), String> {
    let sides = text.split_once('x').and_then(|(w, h)| Some((w.parse().ok()?, h.parse().ok()?)));
    sides.ok_or_else(|| "write WIDTHxHEIGHT in pixels, as 1600x1200".into())
}

fn section(text: &str) -> Result<Section, String> {
    let usage = || "write \"height 80 mm\", \"bearing 90\" or \"across 0 mm\"".to_owned();
    let (kind, value) = text.trim().split_once(' ').ok_or_else(usage)?;
    let mm = || geom::units::parse_length(value, geom::units::Unit::Millimetre).map_err(|e| e.to_string());
    match kind {
        "height" => Ok(Section::Height(mm()?)),
        "across" => Ok(Section::Across(mm()?)),
        "bearing" => geom::units::parse_angle(value).map(Section::Bearing).map_err(|e| e.to_string()),
        _ => Err(usage()),
    }
}

impl PictureArgs {
    /// Whether it is one picture of one side; sheets and turns show all sides.
    fn is_one(&self) -> bool {
        self.sheet.is_none() && self.turntable.is_none() && !self.loads && self.pull_apart.is_none()
    }

    fn offcut(&self) -> OffcutView {
        let usual =
            if self.is_one() && self.section.is_none() { OffcutView::CutAway } else { OffcutView::Depth };
        self.offcut.unwrap_or(usual)
    }

    fn is_cut_away(&self) -> bool {
        self.offcut() == OffcutView::CutAway && self.stage == Stage::Carved && self.is_one()
    }

    fn options(&self) -> Result<PictureOptions, CliError> {
        let pull_apart =
            self.pull_apart.as_deref().map(|text| job::length(text, "--pull-apart")).transpose()?;
        // The carve of one picture is a cut-away; sheets and turns show all sides.
        let is_cut_away = self.is_cut_away();
        let usual_view = if is_cut_away { View::Front } else { View::ThreeQuarter };
        let is_level = self.orthographic || (is_cut_away && self.view.is_none());
        Ok(PictureOptions {
            view: self.view.unwrap_or(usual_view),
            lens: if is_level { Lens::Orthographic } else { Lens::Perspective },
            size: self.size,
            showing: Showing {
                stage: self.stage,
                section: self.section,
                ghost: !self.no_ghost,
                pull_apart: pull_apart.unwrap_or(0.0),
                loads: self.loads,
                offcut: self.offcut(),
                carved_half: self.carved_half,
                lifted: self.lifted,
                ..Showing::default()
            },
            background: if self.transparent { Background::Shadow } else { Background::Plain },
            legend: !self.no_legend,
            dimensions: !self.no_dimensions,
            samples: self.samples.unwrap_or(match self.stage.fraction() {
                _ if self.draft => 4,
                // Soft shadows are most of what makes icing look like icing.
                coated if coated > 1.0 / 3.0 && self.is_one() => 48,
                _ => 16,
            }),
        })
    }
}

/// Draws what the flags ask for.
///
/// # Errors
/// A wrong cake file, no driver to draw with, or a file that cannot be written.
pub fn picture(args: &PictureArgs) -> Result<Outcome, CliError> {
    let ending = args.file.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    let printed = args.sheet.is_some() && ending == "pdf";
    if ending != "png" && !(args.turntable.is_some() && ending == "gif") && !printed {
        return Err(CliError::Usage {
            what: format!("{} is no picture this can write", args.file.display()),
            fix: "end the name in .png, in .gif with --turntable, or in .pdf with --sheet".into(),
        });
    }
    let options = args.options()?;
    options.check()?;
    // The driver opens while the cake is planned.
    let (planned, studio) = std::thread::scope(|scope| {
        let model = scope.spawn(|| {
            let plan = args.source.plan()?;
            let model = solids::model_in_stages(&plan, tolerance(&plan, options.size))?;
            Ok::<_, CliError>((model, plan.design.paper))
        });
        let studio = Studio::open();
        (model.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)), studio)
    });
    let ((model, paper), mut studio) = (planned?, studio?);
    studio.tell(Arc::new(ProgressBars::new()));
    let mut options = options;
    if args.is_cut_away() && args.view.is_none() && args.section.is_none() {
        options.view = studio::cut_away(&model).0;
    }
    match args.turntable {
        Some(steps) => tell(turntable(&mut studio, &model, &options, steps, &args.file, ending == "gif")?),
        None if args.sheet.is_some() => {
            let (sheet, simplified) = match args.sheet.as_deref() {
                Some("steps") => studio.step_sheet(&model, &options)?,
                _ => studio.contact_sheet(&model, &options)?,
            };
            tell(simplified);
            if printed {
                write_page(sheet, &args.file, (&model.name, &paper))?;
            } else {
                write_png(&sheet, &args.file)?;
            }
        }
        None => {
            let picture = studio.picture(&model, &options)?;
            tell(picture.simplified);
            write_png(&picture.image, &args.file)?;
        }
    }
    Ok(Outcome::Sound)
}

/// How true the surfaces of a picture of this size have to be: where the usual error would be seen, by the usual one of
/// tools.
fn tolerance(plan: &Plan, (width, height): (u32, u32)) -> Tolerance {
    /// Straight pieces that stray by so much of a pixel are not seen.
    const SEEN: f64 = 0.2;
    let extent = plan.extent();
    let size = (extent.high - extent.low).max_element();
    let pixel = size / f64::from(width.min(height));
    if plan.design.preview.chord_mm() > SEEN * pixel { plan.design.tool } else { plan.design.preview }
}

/// The finished cake as a client sees it: no offcut, no measures. `None`, and said so, where nothing can draw it.
///
/// # Errors
/// A solid that cannot be made.
pub fn finished(plan: &Plan) -> Result<Option<RgbaImage>, CliError> {
    let size = (1200, 900);
    let model = solids::model_in_stages(plan, tolerance(plan, size))?;
    let options = PictureOptions {
        size,
        showing: Showing { stage: Stage::Finished, ghost: false, ..Showing::default() },
        legend: false,
        dimensions: false,
        ..PictureOptions::default()
    };
    match Studio::open().and_then(|mut studio| studio.picture(&model, &options)) {
        Ok(picture) => Ok(Some(picture.image)),
        Err(error) => {
            note(&format!("note: no picture of the cake is on the client's page: {error}\n"));
            Ok(None)
        }
    }
}

/// What `share` draws: the pictures of the page, where it is to have any but the maker's own, and those of the picture sheet,
/// each without offcut and measures. None, and said so, where nothing can draw them.
///
/// # Errors
/// A solid that cannot be made.
pub fn for_share(plan: &Plan, on_page: bool) -> Result<SharePictures, CliError> {
    let size = (1200, 900);
    let model = solids::model_in_stages(plan, tolerance(plan, (WIDE, PICTURE_HIGH)))?;
    let options = |view: View, stage: Stage| PictureOptions {
        view,
        size,
        showing: Showing { stage, offcut: OffcutView::None, ghost: false, ..Showing::default() },
        legend: false,
        dimensions: false,
        ..PictureOptions::default()
    };
    let sight = |sight: Sight| {
        let from = |bearing: f64| View::From { bearing, elevation: 12.0 };
        match sight {
            Sight::Front => options(from(12.0), Stage::Finished),
            Sight::Side => options(from(90.0), Stage::Finished),
            Sight::Back => options(from(180.0), Stage::Finished),
            Sight::Carved => options(View::ThreeQuarter, Stage::Carved),
        }
    };
    /// Pixels of the front and of the side: the sheet shows them smaller.
    const ELEVATION: (u32, u32) = (960, 720);
    let for_sheet = |view: View, size: (u32, u32), lens: Lens| PictureOptions {
        size,
        lens,
        background: Background::Shadow,
        ..options(view, Stage::Finished)
    };
    let (low, high) = standing(plan);
    let corners: Vec<DVec3> =
        (0..8).map(|i| DVec3::select(glam::BVec3::new(i & 1 > 0, i & 2 > 0, i & 4 > 0), high, low)).collect();
    let drawn = Studio::open().and_then(|mut studio| {
        let every = Sight::ALL;
        let sights: &[Sight] = if on_page { &every } else { &[] };
        let sights = sights
            .iter()
            .map(|which| studio.picture(&model, &sight(*which)).map(|picture| (*which, picture.image)));
        let sights = sights.collect::<Result<Vec<_>, ViewerError>>()?;
        let mut elevation = |view: View| {
            let options = for_sheet(view, ELEVATION, Lens::Orthographic);
            let picture = studio.picture_around(&model, &options, &corners)?;
            // As seen from the front and from the right-hand side, where lines of sight lie level.
            let corner = corners
                .iter()
                .map(|corner| picture.pose.project(*corner, options.size))
                .reduce(|a, b| a.min(b))
                .unwrap_or_default();
            let mm_per_pixel = picture.pose.height / f64::from(options.size.1);
            Ok::<_, ViewerError>(Elevation { image: picture.image, mm_per_pixel, corner })
        };
        let (front, side) = (elevation(View::Front)?, elevation(View::Side)?);
        let round = studio
            .picture(&model, &for_sheet(View::ThreeQuarter, (WIDE, PICTURE_HIGH), Lens::Perspective))?
            .image;
        Ok(SharePictures { sights, sheet: Some(SheetViews { round, front, side }) })
    });
    drawn.or_else(|error| {
        let left_out = if on_page {
            "there is no picture sheet, and no pictures are on the client's page"
        } else {
            "there is no picture sheet"
        };
        note(&format!("note: {left_out}: {error}\n"));
        Ok(SharePictures::default())
    })
}

/// Says what was too big for the graphics card.
fn tell(simplified: Simplified) {
    if simplified.is_some() {
        anstream::eprintln!("note: {simplified}");
    }
}

fn png(image: &RgbaImage) -> Result<Vec<u8>, ViewerError> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image.write_to(&mut bytes, ImageFormat::Png)?;
    Ok(bytes.into_inner())
}

fn write_png(image: &RgbaImage, file: &Path) -> Result<(), CliError> {
    let bytes = png(image)?;
    write_atomic(file, |w| w.write_all(&bytes))?;
    print(&format!("Wrote {}\n", file.display()))?;
    Ok(())
}

/// A sheet of pictures on one page, lying on its long side where the sheet is wider than high.
fn write_page(sheet: RgbaImage, file: &Path, (title, paper): (&str, &Paper)) -> Result<(), CliError> {
    let upright = paper.size.size();
    let size = if sheet.width() > sheet.height() { upright.yx() } else { upright };
    let (corner, room) = (DVec2::splat(paper.margin), size - 2.0 * paper.margin);
    let mut drawing = Drawing::new();
    drawing.picture(&Arc::new(sheet), DVec2::ZERO, room);
    let mut page = Page::new(size);
    page.place(drawing, corner);
    let bytes = pdf(title, &[page]).map_err(|error| CliError::Usage {
        what: format!("{} cannot be printed: {error}", file.display()),
        fix: "end the name in .png".into(),
    })?;
    write_atomic(file, |w| w.write_all(&bytes))?;
    print(&format!("Wrote {}\n", file.display()))?;
    Ok(())
}

/// One turn takes this long in a moving picture, milliseconds.
const ONE_TURN: u32 = 6000;

fn turntable(
    studio: &mut Studio,
    model: &Model,
    options: &PictureOptions,
    steps: u32,
    file: &Path,
    gif: bool,
) -> Result<Simplified, CliError> {
    let mut images = Vec::new();
    let simplified = studio.turntable(model, options, steps, |_, image| {
        images.push(image);
        Ok(())
    })?;
    let mut set = FileSet::new();
    if gif {
        let bytes = studio::animate(images, ONE_TURN / steps)?;
        set.add(file, |w| w.write_all(&bytes))?;
    } else {
        let stem = file.file_stem().unwrap_or_default().to_string_lossy();
        for (step, image) in images.iter().enumerate() {
            let bytes = png(image)?;
            set.add(&file.with_file_name(format!("{stem}-{step:03}.png")), |w| w.write_all(&bytes))?;
        }
    }
    for written in set.commit()? {
        print(&format!("Wrote {}\n", written.display()))?;
    }
    Ok(simplified)
}

/// The first screen, with what is open in the order now.
fn first_screen(plan: &Plan) -> Overview {
    super::order::first_screen(plan, None, Language::english()).1
}

/// Opens the window on a cake file, or on its first page.
///
/// # Errors
/// No screen or no driver.
pub fn view(cake: Option<&Path>, files: &FileArgs) -> Result<Outcome, CliError> {
    let user = directories::UserDirs::new();
    let documents = user.as_ref().and_then(|user| user.document_dir().or(Some(user.home_dir())));
    let own = directories::ProjectDirs::from("", "", "crumbline");
    let options = WindowOptions {
        cake: cake.map(Path::to_owned),
        pantry: files.pantry.clone(),
        folders: Folders {
            settings: configuration().map(|folder| folder.join("window.toml")),
            recovery: own.as_ref().map(|own| own.data_local_dir().join("not-saved")),
            pantry: own_pantry(),
            documents: documents.map_or_else(|| PathBuf::from("."), Path::to_owned),
        },
        program: std::env::current_exe()?,
        log: log::file().map(Path::to_owned),
    };
    studio::view(files.disk(), first_screen, &options)?;
    Ok(Outcome::Sound)
}
