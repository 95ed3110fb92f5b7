//! Plan → the tools that a maker prints: formers, gauges, jigs, cutters and stamps.
//!
//! Every tool is drawn flat as [`SteppedPlate`] (regions with heights) or turned about the axis, so that it
//! lies flat on the printer's bed. One that is larger than the bed is cut into pieces that join; every
//! piece is checked, and all are laid out on beds. What the printer or the maker should know is said as
//! findings; only a tool that cannot be made at all is an error.
//!
//! A flat tool that has a line of the cake for its edge keeps the cake's own measures: its x is the radius
//! and its y the height above the board, so an edge can be held against the line as it is.

mod bed;
mod cautions;
mod check;
mod choice;
mod cutters;
mod discs;
mod draft;
mod envelope;
mod gauges;
mod jigs;
mod label;
mod lettering;
mod levelling;
mod list;
mod room;
mod scraper;
mod shells;
mod silhouette;
mod split;
mod swing;

use rayon::prelude::*;

use crate::language::Language;
use formats::export::slug;
use geom::{MeshDefect, Region, SolidError, SteppedPlate, Tolerance, TriMesh, progress::Progress};
use plan::{
    Plan,
    design::{Design, Printing},
    pantry::Price,
};

pub use bed::{Bed, BedPlace};
pub use check::Plastic;
pub use choice::{Choice, Extent, Reason, choices};
pub use list::list;
pub use silhouette::Silhouette;

pub use draft::Finding;
use draft::{Draft, Drawer};

/// What can be asked for alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// Plates whose edge is a line, with their foot.
    Scrapers,
    /// Scrapers that turn about the centre dowel.
    SwingFormers,
    /// An offset shell to carry the finished cake in.
    Cradle,
    /// A comb of teeth for each line.
    Combs,
    /// Half rings for the widest, the narrowest and the seams.
    RingGauges,
    /// Probes for details that are pressed in.
    DepthGauges,
    /// Where boards are drilled and dowels stand.
    BoardTemplates,
    /// Tubes that keep dowels upright.
    DowelGuides,
    /// Pairs of discs for the knife to ride on.
    GuideDiscs,
    /// Walls round a layer, as high as it is to be.
    LevellingRings,
    /// A mould for a foot that is cast.
    FootMould,
    /// Cutters from outlines.
    Cutters,
    /// Stamps from outlines.
    Stamps,
}

impl Group {
    /// Every group, in the order that the kit is made.
    pub const ALL: [Self; 13] = [
        Self::Scrapers,
        Self::SwingFormers,
        Self::Cradle,
        Self::Combs,
        Self::RingGauges,
        Self::DepthGauges,
        Self::BoardTemplates,
        Self::DowelGuides,
        Self::GuideDiscs,
        Self::LevellingRings,
        Self::FootMould,
        Self::Cutters,
        Self::Stamps,
    ];

    /// What it is called on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Scrapers => "scrapers",
            Self::SwingFormers => "swing-formers",
            Self::Cradle => "cradle",
            Self::Combs => "combs",
            Self::RingGauges => "ring-gauges",
            Self::DepthGauges => "depth-gauges",
            Self::BoardTemplates => "board-templates",
            Self::DowelGuides => "dowel-guides",
            Self::GuideDiscs => "guide-discs",
            Self::LevellingRings => "levelling-rings",
            Self::FootMould => "foot-mould",
            Self::Cutters => "cutters",
            Self::Stamps => "stamps",
        }
    }

    /// What it is called in `language`, with its name on the command line.
    pub fn told(self, language: &Language) -> &str {
        let words = &language.kit;
        match self {
            Self::Scrapers => &words.scrapers,
            Self::SwingFormers => &words.swing_formers,
            Self::Cradle => &words.cradle,
            Self::Combs => &words.combs,
            Self::RingGauges => &words.ring_gauges,
            Self::DepthGauges => &words.depth_gauges,
            Self::BoardTemplates => &words.board_templates,
            Self::DowelGuides => &words.dowel_guides,
            Self::GuideDiscs => &words.guide_discs,
            Self::LevellingRings => &words.levelling_rings,
            Self::FootMould => &words.foot_mould,
            Self::Cutters => &words.cutters,
            Self::Stamps => &words.stamps,
        }
    }

    fn draw(self, drawer: &Drawer<'_>) -> Vec<Draft> {
        match self {
            Self::Scrapers => scraper::draw(drawer),
            Self::SwingFormers => swing::draw(drawer),
            Self::Cradle => shells::cradle(drawer),
            Self::Combs => gauges::combs(drawer),
            Self::RingGauges => gauges::rings(drawer),
            Self::DepthGauges => gauges::depths(drawer),
            Self::BoardTemplates => jigs::board_templates(drawer),
            Self::DowelGuides => jigs::dowel_guides(drawer),
            Self::GuideDiscs => discs::draw(drawer),
            Self::LevellingRings => levelling::draw(drawer),
            Self::FootMould => shells::foot_mould(drawer),
            Self::Cutters => cutters::cutters(drawer),
            Self::Stamps => cutters::stamps(drawer),
        }
    }
}

/// One printed part, or one piece of it.
#[derive(Debug, Clone)]
pub struct Part {
    /// What it belongs to.
    pub group: Group,
    /// What it is called: what it is, then the line or the height.
    pub name: String,
    /// Which piece of how many, from 1.
    pub piece: (usize, usize),
    /// How many of it are needed.
    pub copies: usize,
    /// Its surface, lying on the bed at z = 0, mm.
    pub mesh: TriMesh,
    /// The plate that it is made of; `None` for a turned part.
    pub plate: Option<SteppedPlate>,
    /// What it covers of the bed, seen from above.
    pub footprint: Region,
    /// What it takes to print one.
    pub plastic: Plastic,
}

impl Part {
    /// Name with the number of the piece, as "scraper, carved line, 1 of 2".
    pub fn full_name(&self) -> String {
        match self.piece {
            (_, 1) => self.name.clone(),
            (number, of) => format!("{}, {number} of {of}", self.name),
        }
    }

    /// Width, depth and height, mm.
    pub fn size(&self) -> glam::DVec3 {
        self.mesh.bounds().map_or(glam::DVec3::ZERO, |(lo, hi)| hi - lo)
    }

    /// The part of its file name after the cake's: name, piece and size, as
    /// "scraper-carved-line-1-of-2-173x140x5mm".
    pub fn file_stem(&self) -> String {
        let size = self.size();
        let [w, d, h] = [size.x, size.y, size.z].map(|side| side.round().max(1.0));
        let piece = match self.piece {
            (_, 1) => String::new(),
            (number, of) => format!("-{number}-of-{of}"),
        };
        format!("{}{piece}-{w}x{d}x{h}mm", slug(&self.name))
    }
}

/// Gives tools of the same name a number each: heights that differ by less than they are written with do so.
fn tell_apart(parts: &mut [Part]) {
    let mut seen: Vec<(String, usize)> = Vec::new();
    for part in parts {
        let full = part.full_name();
        match seen.iter_mut().find(|(name, _)| *name == full) {
            Some((_, count)) => {
                *count += 1;
                part.name = format!("{}, number {count}", part.name);
            }
            None => seen.push((full, 1)),
        }
    }
}

/// Findings that say the same about several tools, said once.
fn gathered(findings: Vec<Finding>) -> Vec<Finding> {
    let mut gathered: Vec<Finding> = Vec::new();
    for found in findings {
        let same =
            |f: &&mut Finding| f.code == found.code && f.message == found.message && f.fix == found.fix;
        match gathered.iter_mut().find(same) {
            Some(first) if first.about.split("; ").any(|name| name == found.about) => {}
            Some(first) => first.about = format!("{}; {}", first.about, found.about),
            None => gathered.push(found),
        }
    }
    gathered
}

/// All printed parts of a cake.
#[derive(Debug, Clone)]
pub struct Kit {
    /// Name of the cake.
    pub cake: String,
    /// The parts, group by group.
    pub parts: Vec<Part>,
    /// How they lie on beds.
    pub beds: Vec<Bed>,
    /// What to know before printing, the worst first.
    pub findings: Vec<Finding>,
    /// Tools that were asked for and are not here, each with the reason.
    pub left_out: Vec<KitError>,
    /// What is worth printing of each group and what is not, with the reason, if the kit was made by that.
    pub choices: Vec<Choice>,
    /// Price of the plastic, if the pantry has one.
    pub price: Option<PlasticPrice>,
}

/// What plastic costs.
#[derive(Debug, Clone, PartialEq)]
pub struct PlasticPrice {
    /// For a kilogram.
    pub kilogram: Price,
    /// ISO 4217 code of the currency.
    pub currency: String,
    /// Its decimal places.
    pub decimals: u32,
}

impl PlasticPrice {
    /// The pantry's price; `None` if it has none.
    fn of(plan: &Plan) -> Option<Self> {
        let money = &plan.pantry.money;
        let (kilogram, currency, decimals) = (money.plastic, money.currency.clone(), money.decimals);
        (!kilogram.is_zero()).then_some(Self { kilogram, currency, decimals })
    }

    /// What so many grams cost, as "0.45 EUR"; `None` if it is too much to count.
    pub fn of_grams(&self, grams: f64) -> Option<String> {
        let cost = self.kilogram.times(grams / 1000.0)?;
        Some(format!("{} {}", cost.figures(self.decimals), self.currency))
    }
}

/// Why a tool is not in the kit, or why there is no kit.
#[derive(Debug, Clone, thiserror::Error)]
pub enum KitError {
    /// A piece is larger than the bed and cannot be cut smaller.
    #[error("{part} does not fit the bed: it is {:.0} × {:.0} × {:.0} mm and the bed {:.0} × {:.0} × {:.0} mm; it can be printed on a larger bed", .size.x, .size.y, .size.z, .bed.x, .bed.y, .bed.z)]
    BedTooSmall {
        /// The part.
        part: String,
        /// Its size, mm.
        size: glam::DVec3,
        /// The bed, mm.
        bed: glam::DVec3,
    },
    /// It cannot be cut to the bed without a piece that is too narrow to be held and joined.
    #[error("{part} does not fit the bed of {:.0} × {:.0} mm: cut to it, a piece would be {:.0} × {:.0} mm, narrower than {least} mm; it can be printed on a larger bed", .bed.x, .bed.y, .piece.x, .piece.y)]
    TooNarrow {
        /// The part.
        part: String,
        /// Width and depth of the narrowest piece, mm.
        piece: glam::DVec2,
        /// The least side of a piece, mm.
        least: f64,
        /// The bed, mm.
        bed: glam::DVec3,
    },
    /// The boolean kernel made no solid of a part, or of what it is drawn from: a mistake of ours.
    #[error("{part} could not be made as a solid; please report this cake file")]
    Refused {
        /// The part.
        part: String,
        /// What the kernel said.
        source: SolidError,
    },
    /// A part came out as no solid: a mistake of ours.
    #[error("{part} came out with a hole in it and cannot be printed; please report this cake file")]
    NotSolid {
        /// The part.
        part: String,
        /// What is wrong with it.
        defect: MeshDefect,
    },
}

/// The parts of one tool and what was found about them.
type Made = (Vec<Part>, Vec<Finding>);

/// Curves of printed edges stay within this of the true line, mm; a fifth of what a gauge promises.
const FINE: f64 = 0.01;

impl Kit {
    /// Makes the parts of `groups` for `plan`, printed as `printing` says. A tool that cannot be made, or does not fit the
    /// bed, is left out ([`Kit::left_out`]); all others are there.
    ///
    /// # Errors
    /// When the sections that all tools are drawn from are refused.
    pub fn new(
        plan: &Plan,
        printing: &Printing,
        groups: &[Group],
        progress: &dyn Progress,
    ) -> Result<Self, KitError> {
        let mut groups = groups.to_vec();
        groups.sort_unstable();
        groups.dedup();
        let wanted: Vec<(Group, &Extent)> = groups.into_iter().map(|group| (group, &Extent::Whole)).collect();
        Self::made(plan, printing, &wanted, progress)
    }

    /// Makes what is worth printing for `plan` ([`choices`]), as [`Kit::new`] makes whole groups.
    ///
    /// # Errors
    /// As [`Kit::new`].
    pub fn chosen(plan: &Plan, printing: &Printing, progress: &dyn Progress) -> Result<Self, KitError> {
        let choices = choices(plan, printing);
        let proposed = choices.iter().filter(|choice| choice.is_proposed());
        let wanted: Vec<(Group, &Extent)> = proposed.map(|choice| (choice.group, &choice.extent)).collect();
        let mut kit = Self::made(plan, printing, &wanted, progress)?;
        kit.choices = choices;
        Ok(kit)
    }

    fn made(
        plan: &Plan,
        printing: &Printing,
        wanted: &[(Group, &Extent)],
        progress: &dyn Progress,
    ) -> Result<Self, KitError> {
        let design: &Design = &plan.design;
        let fine = Tolerance::new(FINE).unwrap_or(Tolerance::TOOL);
        let groups: Vec<Group> = wanted.iter().map(|(group, _)| *group).collect();
        let drawer = Drawer::new(plan, printing, fine, design.style, &groups)?;
        progress.start("drawing tools", groups.len() as u64);
        let done = std::sync::atomic::AtomicU64::new(0);
        let drawn: Vec<Vec<Draft>> = wanted
            .par_iter()
            .map(|(group, extent)| {
                let mut drafts = group.draw(&drawer);
                drafts.retain(|draft| draft.is_within(extent));
                progress.step(done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1);
                drafts
            })
            .collect();
        let drafts: Vec<Draft> = drawn.into_iter().flatten().collect();
        progress.start("making parts", drafts.len() as u64);
        let done = std::sync::atomic::AtomicU64::new(0);
        let made: Vec<Result<Made, KitError>> = drafts
            .par_iter()
            .map(|draft| {
                let made = draft.make(printing, fine);
                progress.step(done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1);
                made
            })
            .collect();
        let (mut parts, mut findings, mut left_out) = (Vec::new(), Vec::new(), Vec::new());
        for one in made {
            match one {
                Ok((more, found)) => {
                    parts.extend(more);
                    findings.extend(found);
                }
                Err(error) => left_out.push(error),
            }
        }
        tell_apart(&mut parts);
        let mut findings = gathered(findings);
        findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
        let beds = bed::lay_out(&parts, printing);
        progress.finish();
        let price = PlasticPrice::of(plan);
        let cake = design.name.clone();
        Ok(Self { cake, parts, beds, findings, left_out, choices: Vec::new(), price })
    }
}
