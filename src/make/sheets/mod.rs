//! Plan → paper: templates at true size and the cutting sheet.
//!
//! Everything drawn is at true size unless it says otherwise, every page carries the bars that prove it, and
//! the same plan gives the same bytes. Shapes are drawn without the details that are cut in last: those have
//! figures of their own.

mod bends;
mod boards;
mod cautions;
mod chart;
mod column;
mod cutting;
mod details;
mod figure;
mod finishes;
mod form;
mod frame;
mod icing;
mod kind;
mod layers;
mod order;
mod pages;
mod pieces;
mod plain;
mod rolls;
mod section;
mod sentences;
mod silhouettes;
mod steady;
mod steps;
mod taken;
mod tiles;
mod view;
mod wraps;

use glam::dvec2;

use crate::language::{Language, filled};
use formats::{
    drawing::Page,
    escape,
    export::{
        pdf::{PdfError, pdf},
        slug,
        svg::svg,
    },
};
use plan::{
    Plan,
    design::{Paper, PaperError, paper::FOOT},
};

use icing::Halves;

pub use cautions::cautions;
pub use column::Column;
pub use figure::{Figure, Key};
pub use finishes::SPIRIT;
pub use form::{Thin, ThinKind, UpsideDown};
pub use kind::ShapeKind;
pub use order::{BEARINGS, CuttingOrder, DowelCut, Reach, Row, Stacked};
pub(crate) use steady::warmth;
pub use steady::{Hidden, Steady};
pub use taken::From;

/// A file in memory.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetFile {
    /// Its name: the cake, what of it, the size.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// Why there are no sheets.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SheetError {
    /// Nothing can be printed on such paper.
    #[error(transparent)]
    Paper(#[from] PaperError),
    /// The PDF could not be made.
    #[error(transparent)]
    Pdf(#[from] PdfError),
}

/// A set of templates that is printed together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Template {
    /// Front and side with all lines.
    Silhouettes,
    /// Each layer, to be cut before it is stacked.
    Layers,
    /// Outlines of details, and the lines that bars are bent to.
    Details,
    /// Boards, holes, dowels.
    Boards,
    /// Flat patterns for icing.
    Icing,
    /// Strips round the side.
    Wraps,
}

impl Template {
    /// Every set.
    pub const ALL: [Self; 6] =
        [Self::Silhouettes, Self::Layers, Self::Details, Self::Boards, Self::Icing, Self::Wraps];

    /// Its name, in commands and in file names.
    pub fn name(self) -> &'static str {
        match self {
            Self::Silhouettes => "silhouettes",
            Self::Layers => "layers",
            Self::Details => "details",
            Self::Boards => "boards",
            Self::Icing => "icing",
            Self::Wraps => "wraps",
        }
    }

    fn title(self, language: &Language) -> &str {
        let words = &language.template;
        match self {
            Self::Silhouettes => &words.silhouettes,
            Self::Layers => &words.layers,
            Self::Details => &words.details,
            Self::Boards => &words.boards,
            Self::Icing => &words.icing,
            Self::Wraps => &words.wraps,
        }
    }

    /// What its lines stand for, in `language`.
    pub fn key(self, plan: &Plan, paper: &Paper, language: &Language) -> Key {
        match self {
            Self::Silhouettes => silhouettes::key(plan, language),
            Self::Layers => layers::key(language),
            Self::Details => details::key(language),
            Self::Boards => boards::key(language),
            Self::Icing => icing::key(paper, plan, language),
            Self::Wraps => wraps::key(language),
        }
    }

    /// Its figures, whole, in `language`; none where the cake has nothing of the kind.
    pub fn figures(self, plan: &Plan, paper: &Paper, language: &Language) -> Vec<Figure> {
        self.figures_for(plan, paper, Halves::Never, language)
    }

    fn figures_for(self, plan: &Plan, paper: &Paper, halves: Halves, language: &Language) -> Vec<Figure> {
        match self {
            Self::Silhouettes => silhouettes::figures(plan, language),
            Self::Layers => layers::figures(plan, language),
            Self::Details => [details::figures(plan, language), bends::figures(plan, language)].concat(),
            Self::Boards => boards::figures(plan, language),
            Self::Icing => icing::figures(plan, paper, halves, language),
            Self::Wraps => wraps::figures(plan, language),
        }
    }
}

/// Templates of `plan` in `language`: a PDF of each set for the paper in `paper`, and an SVG drawing of each figure whole.
///
/// # Errors
/// When nothing can be printed on such paper.
pub fn templates(
    plan: &Plan,
    paper: &Paper,
    sets: &[Template],
    language: &Language,
) -> Result<Vec<SheetFile>, SheetError> {
    use rayon::prelude::*;
    paper.check()?;
    let files: Vec<Vec<SheetFile>> =
        sets.par_iter().map(|&set| template(plan, paper, set, language)).collect::<Result<_, _>>()?;
    Ok(files.concat())
}

fn template(
    plan: &Plan,
    paper: &Paper,
    set: Template,
    language: &Language,
) -> Result<Vec<SheetFile>, SheetError> {
    let cake = slug(&plan.design.name);
    let figures = set.figures(plan, paper, language);
    if figures.is_empty() {
        return Ok(Vec::new());
    }
    let said = [("cake", plan.design.name.as_str()), ("what", set.title(language))];
    let title = filled(&language.template.document, &said);
    let key = set.key(plan, paper, language);
    // Patterns that are symmetrical need only half the paper.
    let on_pages = if set == Template::Icing {
        set.figures_for(plan, paper, Halves::WhereLarge, language)
    } else {
        figures.clone()
    };
    let pages = pages::pages(paper, &title, &key, &on_pages, language);
    let size = paper.size.name().to_lowercase();
    let mut files =
        vec![SheetFile { name: format!("{cake}-{}-{size}.pdf", set.name()), bytes: pdf(&title, &pages)? }];
    files.extend(figures.iter().map(|figure| whole(&plan.design.name, figure, &key, language)));
    Ok(files)
}

/// The cutting sheet of `plan` in `language`: as PDF, and the same as plain text.
///
/// # Errors
/// When nothing can be printed on such paper.
pub fn cutting_sheet(plan: &Plan, paper: &Paper, language: &Language) -> Result<Vec<SheetFile>, SheetError> {
    paper.check()?;
    let order = CuttingOrder::in_language(plan, paper, language);
    let cake = slug(&plan.design.name);
    let size = paper.size.name().to_lowercase();
    let title = filled(&language.sheet.title, &[("cake", &plan.design.name)]);
    let bytes = pdf(&title, &cutting::pages(plan, &order, paper))?;
    Ok(vec![
        SheetFile { name: format!("{cake}-cutting-sheet-{size}.pdf"), bytes },
        SheetFile {
            name: format!("{cake}-cutting-sheet.txt"),
            bytes: escape::lines(&plain::text(plan, &order)).into_owned().into_bytes(),
        },
    ])
}

/// A figure on a sheet of its own, whatever its size.
fn whole(cake: &str, figure: &Figure, key: &Key, language: &Language) -> SheetFile {
    /// White all round, mm.
    const MARGIN: f64 = 10.0;
    /// The bars and the sentence need this much, mm.
    const FOOT_WIDE: f64 = 180.0;
    let cell = figure.cell();
    let key = frame::key(key, f64::INFINITY);
    let key_wide = key.bounds().map_or(0.0, |(_, hi)| hi.x);
    let wide = cell.size.x.max(FOOT_WIDE).max(key_wide).ceil();
    /// Height of the caution under the foot, mm.
    const CAUTION: f64 = 4.0;
    let high = (cell.size.y + FOOT + CAUTION + 1.5 * MARGIN).ceil();
    let under = MARGIN + cell.size.y + MARGIN;
    let mut page = Page::new(dvec2(wide, high) + 2.0 * MARGIN);
    page.place(cell.drawing, dvec2(MARGIN, MARGIN));
    page.place(key, dvec2(MARGIN, under));
    let foot = MARGIN + high - FOOT - CAUTION;
    page.place(frame::foot(wide, None, &language.sheet.print_at), dvec2(MARGIN, foot));
    page.place(frame::small(&language.caution.paper), dvec2(MARGIN, foot + FOOT + CAUTION));
    let title = filled(&language.template.document, &[("cake", cake), ("what", &figure.title)]);
    let name = format!("{}-{}-{:.0}x{:.0}mm.svg", slug(cake), figure.slug, page.size.x, page.size.y);
    SheetFile { name, bytes: svg(&title, &page).into_bytes() }
}
