//! `share` and `choices`: the page that the client turns the cake on, and what comes back of it.

use std::{
    path::{Path, PathBuf},
    sync::mpsc,
    thread,
    time::Duration,
};

use clap::Args;
use image::{DynamicImage, RgbaImage, codecs::jpeg::JpegEncoder};
use jiff::civil::DateTime;

use super::{
    cake::{CakeArgs, FileArgs},
    error::CliError,
    export::{MOCK_UP_ERROR, lightened},
    job::{self, folder_beside},
    language::LanguageArgs,
    order::{maker_look, now, time},
    output::waiting,
    progress::ProgressBars,
    run::{Outcome, print},
    talk::note,
};
use cakefile::{
    CakeFile, CakeFileError,
    edit::{Document, Edit},
    world::{Content, FileBytes},
};
use formats::{
    export::{FileSet, Format, add_model, slug, write_atomic},
    model::Stage,
};
use geom::Cancel;
use make::{language::Language, solids};
use plan::{Plan, Planner, Quality, Source, offer::Offer};
use shop::{
    amounts::Amounts,
    order_check::OrderCheck,
    quote::Quote,
    share::{
        self, Choices, Expected, Facts, MESH_BUDGET, Meshes, Page, Parts, Picture, PictureSheet, SheetViews,
        Sight, WorkedOut,
    },
};

/// Flags of `share`.
#[derive(Debug, Args)]
pub struct ShareArgs {
    #[command(flatten)]
    pub source: CakeArgs,
    /// The folder to write into; made if it is not there. Left out: a folder beside the cake file, named after it.
    #[arg(short, long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    #[command(flatten)]
    pub language: LanguageArgs,
    /// The time that counts as now, as "2026-12-01 08:00". Left out: now, by the clock of this computer.
    #[arg(long, value_name = "TIME", value_parser = time)]
    pub today: Option<DateTime>,
    /// Write the page although the order check has open points, with INCOMPLETE on it.
    #[arg(long)]
    pub incomplete: bool,
    /// A page that the client has already: the new one tells what has changed since.
    #[arg(long, value_name = "PAGE.html")]
    pub since: Option<PathBuf>,
    /// A picture for the page, a PNG or JPEG; may be given several times. Left out: the cake is drawn.
    #[arg(long, value_name = "FILE", conflicts_with = "no_picture")]
    pub picture: Vec<PathBuf>,
    /// Draw no pictures: none are on the page, and there is no picture sheet.
    #[arg(long)]
    pub no_picture: bool,
    /// Write the picture sheet as PNG as well.
    #[arg(long, conflicts_with = "no_picture")]
    pub png: bool,
}

/// Flags of `choices`.
#[derive(Debug, Args)]
pub struct ChoicesArgs {
    /// The cake file.
    pub cake: PathBuf,
    /// The client's letter, as a text file.
    pub letter: PathBuf,
    #[command(flatten)]
    pub files: FileArgs,
    #[command(flatten)]
    pub language: LanguageArgs,
    /// Take the choices although the cake has changed since the client's page was written.
    #[arg(long)]
    pub earlier: bool,
    /// Write the cake file here instead of in the place of the old one.
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// What is drawn for a client.
#[derive(Default)]
pub struct SharePictures {
    /// The pictures of the page.
    pub sights: Vec<(Sight, RgbaImage)>,
    /// Those of the picture sheet.
    pub sheet: Option<SheetViews>,
}

/// The mark of the cake in `file`, which offers `offer`.
fn mark(file: &CakeFile, offer: &Offer) -> String {
    file.parse().document.map(|cake| share::mark(&cake, offer)).unwrap_or_default()
}

/// Writes the page, what shows the cake in a room, and pictures; all of them or none.
///
/// # Errors
/// A wrong cake or pantry file, open points without `--incomplete`, a page or picture that cannot be read, or a file that
/// cannot be written.
pub fn share(args: &ShareArgs) -> Result<Outcome, CliError> {
    let language = args.language.read(&args.source.files)?;
    let before = args.since.as_deref().map(|page| facts(&args.source.files, page, &language)).transpose()?;
    let (source, bars) = (args.source.source()?, ProgressBars::new());
    let plan = Planner::new().plan_telling(&source, Quality::Full, &Cancel::new(), &bars)?;
    let look = maker_look(&source, &plan)?;
    let amounts = Amounts::new(&plan);
    let quote = Quote::new(&plan, &amounts, 0.0).map_err(|error| CliError::Usage {
        what: format!("{}: {error}", args.source.cake.display()),
        fix: error.fix().into(),
    })?;
    let check = OrderCheck::new(&plan, &amounts, Ok(&quote), args.today.unwrap_or_else(now));
    if !check.is_clear() && !args.incomplete {
        return Err(CliError::Usage {
            what: format!("no page is written: the order check has {} open", check.open.len()),
            fix: format!(
                "fix what crumbline quote {} tells under \"Order check\"; or add --incomplete, which writes the page with \
                 INCOMPLETE on it",
                args.source.cake.display()
            ),
        });
    }
    let slug = slug(&plan.design.name);
    let folder = args.out.clone().unwrap_or_else(|| folder_beside(&args.source.cake, "page"));
    let drawn = if args.no_picture {
        note("note: there is no picture sheet: it is made of pictures, and --no-picture asks for none\n");
        SharePictures::default()
    } else {
        drawn(&plan, args.picture.is_empty())?
    };
    let pictures = pictures(args, &drawn.sights, &language)?;
    let mark = mark(&source.cake, &plan.offer);
    let prices = prices(&source, &plan, &quote);
    let parts = Parts::new(&plan, &language)?;
    let meshes = Meshes::new(&parts, MESH_BUDGET, &bars);
    tell_lightened(&meshes);
    let names = [Format::Glb, Format::Usdz].map(|format| format!("{slug}.{}", format.ending()));
    let html = share::page(&Page {
        plan: &plan,
        quote: &quote,
        check: &check,
        parts: &parts,
        meshes: &meshes,
        pictures: &pictures,
        mark: &mark,
        files: &names,
        before: before.as_ref(),
        prices: &prices,
        look: &look,
        language: &language,
    });
    let sheet = drawn.sheet.as_ref().map(|views| {
        let sheet = PictureSheet {
            plan: &plan,
            quote: &quote,
            check: &check,
            views,
            mark: &mark,
            look: &look,
            language: &language,
        };
        tell_lacking(&sheet);
        sheet.drawn()
    });
    let model = job::shown_at(&plan, &solids::catalogue(&plan), Stage::Finished);
    let model = solids::build_all(&plan, &model, plan.design.preview)?;
    let model = lightened(model, Format::Glb, MOCK_UP_ERROR, &bars);
    let mut set = FileSet::in_folder(&folder, &waiting)?;
    set.add(&folder.join(format!("{slug}.html")), |w| w.write_all(html.as_bytes()))?;
    for name in &names {
        add_model(&mut set, &model, &folder.join(name), &bars)?;
    }
    for (sight, image) in &drawn.sights {
        let bytes = jpeg(image)?;
        set.add(&folder.join(format!("{slug}-{}.jpg", sight.file_name())), |w| w.write_all(&bytes))?;
    }
    if let Some(sheet) = sheet {
        let bytes = jpeg(&sheet)?;
        set.add(&folder.join(format!("{slug}-picture-sheet.jpg")), |w| w.write_all(&bytes))?;
        if args.png {
            let png = folder.join(format!("{slug}-picture-sheet.png"));
            set.add(&png, |w| formats::export::png::write(w, &sheet))?;
        }
    }
    for written in set.commit()? {
        print(&format!("Wrote {}\n", written.display()))?;
    }
    Ok(if plan.has_errors() { Outcome::Unsound } else { Outcome::Sound })
}

/// Prices of the sizes that are offered without one, worked out as far as there is time for it, and said.
fn prices(source: &Source, plan: &Plan, quote: &Quote) -> Vec<WorkedOut> {
    /// For all of them: beyond that a maker would rather write them down.
    const TIME: Duration = Duration::from_secs(30);
    // Where the cake as it is has no price, one that is scaled has none either.
    let wanted = plan.order.serves.unwrap_or(quote.serves);
    let open = plan.offer.sizes.iter().filter(|size| size.price.is_none() && size.serves != wanted);
    let open: Vec<u32> = open.map(|size| size.serves).collect();
    if quote.charged.is_none() || open.is_empty() {
        return Vec::new();
    }
    let cancel = Cancel::new();
    let worked_out = |serves: &u32| (*serves, share::worked_out(source, *serves, &cancel));
    let (done, all_done) = mpsc::channel::<()>();
    let made: Vec<_> = thread::scope(|scope| {
        let cancel = cancel.clone();
        scope.spawn(move || {
            if all_done.recv_timeout(TIME) == Err(mpsc::RecvTimeoutError::Timeout) {
                cancel.cancel();
            }
        });
        let made = open.iter().map(worked_out).collect();
        drop(done);
        made
    });
    let mut prices = Vec::new();
    for (serves, made) in made {
        match made {
            Ok(price) => {
                note(&format!(
                    "note: the price for {serves} is worked out: {}, for the cake scaled to {:.0} % with the best stack for it; \
                     price under [[offer.size]] says another\n",
                    quote.price(price.coins),
                    100.0 * price.factor
                ));
                prices.push(price);
            }
            Err(error) => {
                let why = if cancel.is_cancelled() {
                    format!("working it out takes more than {} s", TIME.as_secs())
                } else {
                    error.to_string()
                };
                note(&format!(
                    "note: the page tells no price for {serves}: {why}; write it down (price under [[offer.size]])\n"
                ));
            }
        }
    }
    prices
}

/// Says how far the model on the page is from the true cake.
fn tell_lightened(meshes: &Meshes) {
    let kilobytes = meshes.packed.bytes.len() / 1000;
    if meshes.error_mm > 0.0 {
        note(&format!(
            "note: the cake on the page is simplified, within {} mm of the true one, so that the page stays small\n",
            meshes.error_mm
        ));
    }
    if !meshes.fits(MESH_BUDGET) {
        note(&format!(
            "note: all the same it takes {kilobytes} KB; some programs refuse letters of 10 MB and more\n"
        ));
    }
}

/// Says which letters the picture sheet goes without.
fn tell_lacking(sheet: &PictureSheet<'_>) {
    let lacking = share::lacking_on(sheet);
    if !lacking.is_empty() {
        let letters: String = lacking.iter().flat_map(|letter| [*letter, ' ']).collect();
        note(&format!(
            "note: on the picture sheet a ? stands for each of these letters, which its font does not have: {}\n",
            letters.trim_end()
        ));
    }
}

/// A file that goes with the cake; one that cannot be read is told like a cake file.
fn read_file(files: &FileArgs, file: &Path, content: Content) -> Result<FileBytes, CliError> {
    let name = file.display().to_string();
    Ok(files.disk().read(file, content).map_err(|cause| CakeFileError::unreadable(&name, cause))?)
}

/// What the page `file` tells of its cake.
fn facts(files: &FileArgs, file: &Path, language: &Language) -> Result<Facts, CliError> {
    let refused = |what: String| CliError::Usage {
        what: format!("--since {}: {what}", file.display()),
        fix: "name the .html file that the client was sent before".into(),
    };
    let bytes = read_file(files, file, Content::Text)?.bytes;
    let facts =
        Facts::of_page(&String::from_utf8_lossy(&bytes)).map_err(|error| refused(error.to_string()))?;
    if facts.language == language.language {
        return Ok(facts);
    }
    Err(CliError::Usage {
        what: format!("--since {}: that page is in another language ({})", file.display(), facts.language),
        fix: format!("write this one in it too (--language {}), or leave --since out", facts.language),
    })
}

/// The pictures on the page: the maker's own, else those that were drawn.
fn pictures(
    args: &ShareArgs,
    sights: &[(Sight, RgbaImage)],
    language: &Language,
) -> Result<Vec<Picture>, CliError> {
    let refused = |file: &Path, what: String| CliError::Usage {
        what: format!("{}: {what}", file.display()),
        fix: "name a picture that is a PNG or a JPEG, or add --no-picture".into(),
    };
    let own = args.picture.iter().map(|file| {
        let bytes = read_file(&args.source.files, file, Content::Picture)?.bytes;
        let name = file.file_stem().unwrap_or_default().to_string_lossy().replace(['-', '_'], " ");
        let image = image::load_from_memory(&bytes).map_err(|error| refused(file, error.to_string()))?;
        Picture::new(&name, image).map_err(|error| refused(file, error.to_string()))
    });
    let drawn = sights.iter().map(|(sight, image)| {
        let picture = Picture::new(sight.told(&language.share), image.clone().into());
        picture.map_err(|error| CliError::Print(std::io::Error::other(error)))
    });
    own.chain(drawn).collect()
}

/// A picture in a file of its own.
fn jpeg(image: &RgbaImage) -> Result<Vec<u8>, CliError> {
    /// Of JPEG, 1 to 100: no flaws are seen on a phone.
    const QUALITY: u8 = 90;
    let mut bytes = Vec::new();
    let opaque = DynamicImage::ImageRgba8(image.clone()).into_rgb8();
    let written = opaque.write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, QUALITY));
    written.map_err(|error| CliError::Print(std::io::Error::other(error)))?;
    Ok(bytes)
}

#[cfg(feature = "viewer")]
fn drawn(plan: &Plan, on_page: bool) -> Result<SharePictures, CliError> {
    super::look::for_share(plan, on_page)
}

/// Without the means to draw a page has no pictures: the cake is drawn by whoever opens it.
#[cfg(not(feature = "viewer"))]
fn drawn(_: &Plan, _: bool) -> Result<SharePictures, CliError> {
    note("note: this crumbline draws no pictures: there is no picture sheet\n");
    Ok(SharePictures::default())
}

/// Writes what the client chose into the cake file, and says what has changed.
///
/// # Errors
/// A wrong cake file, a letter without choices of this cake, or a file that cannot be written.
pub fn choices(args: &ChoicesArgs) -> Result<Outcome, CliError> {
    let own = args.language.read(&args.files)?;
    let source = CakeArgs { cake: args.cake.clone(), files: args.files.clone() }.source()?;
    let understood = Planner::new().understand(&source, &Cancel::new(), |_, _| ())?;
    let refused = |what: String, fix: String| CliError::Usage {
        what: format!("{}: {what}", args.letter.display()),
        fix,
    };
    let read = read_file(&args.files, &args.letter, Content::Text)?;
    let letter = String::from_utf8(read.bytes.to_vec())
        .map_err(|_| refused("it is not text".into(), "save the letter as plain text (UTF-8)".into()))?;
    let mark = mark(&source.cake, &understood.offer);
    let expected = Expected {
        name: &understood.design.name,
        mark: &mark,
        offer: &understood.offer,
        allow_earlier: args.earlier,
    };
    let languages: Vec<Language> = std::iter::once(own).chain(Language::every_shipped()).collect();
    let chosen = Choices::read(&letter, &expected, &languages)
        .map_err(|error| refused(error.to_string(), error.fix()))?;
    let document = Document::new(source.cake.clone());
    let changes = share::changes(&document, &understood.offer, &chosen);
    let cake = args.cake.display();
    if changes.is_empty() && args.out.is_none() {
        return print(&format!("{cake} is as the client wants it already\n"));
    }
    let edit = Edit::Many(changes.iter().map(|change| change.edit.clone()).collect());
    let applied = document
        .apply(&edit)
        .map_err(|error| CliError::Usage { what: format!("{cake}: {error}"), fix: error.fix() })?;
    let out = args.out.as_deref().unwrap_or(&args.cake);
    write_atomic(out, |w| w.write_all(applied.document.text().as_bytes()))?;
    let told: String = changes
        .iter()
        .map(|change| match &change.before {
            Some(before) => format!("  {}: {} instead of {before}\n", change.path, change.now),
            None => format!("  {}: {}\n", change.path, change.now),
        })
        .collect();
    print(&format!("Wrote {}\n{told}", out.display()))?;
    let is_other_size = changes.iter().any(|change| change.path.to_string() == "order.serves");
    if let Some(serves) = chosen.serves.filter(|_| is_other_size) {
        let (out, count) = (out.display(), serves.count());
        print(&format!("Next: crumbline stack {out} --serve {count} --out {out}\n"))?;
    }
    Ok(Outcome::Sound)
}
