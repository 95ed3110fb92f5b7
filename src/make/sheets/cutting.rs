//! The cutting sheet: what is stacked and what to take care of, the steps, how deep to carve, and whether it stands. A shape
//! that is cut straight down has no page of depths; one that is laid of pieces has a page for cutting and laying them.

use glam::{DVec2, dvec2};

use super::{
    cautions::cautions,
    chart::{Bands, chart},
    column::Column,
    frame::{self, Heading, shown_from},
    kind::ShapeKind,
    order::{CuttingOrder, Reach, Row},
    pieces,
    section::{Outlines, section},
    sentences::Sentences,
};
use crate::language::{SheetWords, filled};
use formats::drawing::{Drawing, Page};
use plan::{Plan, design::Paper};

/// Size of words on A4 if there is room, mm: 13 points, to be read at arm's length.
const SIZE: f64 = 4.6;
/// Sentences are never smaller, mm: 6½ points.
const SMALLEST: f64 = 2.3;

/// Words on the chart are never smaller, mm: 7 points.
const LEAST_ON_CHART: f64 = 7.0 * geom::units::MM_PER_INCH / 72.0;

/// The pages: four, or three for a shape that is cut straight down, and one more where layers are laid of pieces.
pub fn pages(plan: &Plan, order: &CuttingOrder, paper: &Paper) -> Vec<Page> {
    let shown = paper.shown(false);
    let sentences = Sentences::new(plan, order);
    let full = SIZE * (shown.y / paper_a4_shown()).max(1.0).sqrt();
    let outlines = Outlines::new(plan);
    let bands = Bands::new(order);
    let sheet = Sheet { plan, order, sentences, outlines, bands, shown };
    let first = fitted(full, shown.y, |size, most| sheet.front(size, most));
    let steps = fitted(full, shown.y, |size, _| sheet.steps(size));
    let words = &order.language.sheet;
    let mut drawn = vec![(first, &words.front)];
    if pieces::has_pieces(plan) {
        let laid = fitted(full * 0.75, shown.y, |size, _| pieces::page(plan, &sheet.sentences, shown, size));
        drawn.push((laid, &words.pieces));
    }
    drawn.push((steps, &words.steps));
    if order.kind != ShapeKind::StraightSided {
        drawn.push((fitted(full, shown.y, |size, most| sheet.depths(size, most)), &words.depths));
    }
    drawn.push((fitted(full, shown.y, |size, most| sheet.steady(size, most)), &words.steady));
    let count = drawn.len();
    drawn
        .into_iter()
        .enumerate()
        .map(|(i, (drawing, what))| {
            let heading = Heading {
                title: format!("{}: {what}", plan.design.name),
                page: filled(
                    &words.page,
                    &[
                        ("page", &(i + 1).to_string()),
                        ("count", &count.to_string()),
                        ("paper", &paper.size.to_string()),
                    ],
                ),
                line: words.measured.clone(),
                key: Vec::new(),
                print_at: words.print_at.clone(),
            };
            let mut page = frame::page(paper, false, &heading, None);
            page.place(drawing, shown_from(paper));
            page
        })
        .collect()
}

/// Height of what an A4 page shows, mm: words grow with larger paper.
fn paper_a4_shown() -> f64 {
    Paper::usual(geom::units::Unit::Millimetre).shown(false).y
}

/// A page with words as large as there is room for, lists cut short only where the smallest do not fit.
fn fitted(full: f64, high: f64, make: impl Fn(f64, usize) -> (Drawing, f64)) -> Drawing {
    let mut size = full;
    let mut most = usize::MAX;
    loop {
        let (drawing, used) = make(size, most);
        if used <= high || most <= 4 {
            return drawing;
        }
        if size * 0.97 >= SMALLEST {
            size *= 0.97;
        } else {
            most = if most == usize::MAX { 48 } else { most * 3 / 4 };
        }
    }
}

/// Everything that is on the pages, before its words have a size.
struct Sheet<'a> {
    plan: &'a Plan,
    order: &'a CuttingOrder,
    sentences: Sentences<'a>,
    outlines: Outlines,
    bands: Bands,
    /// Width and height of what a page shows, mm.
    shown: DVec2,
}

impl Sheet<'_> {
    /// Stack, dowels, cautions; returns the height used.
    fn front(&self, size: f64, most: usize) -> (Drawing, f64) {
        let Self { plan, order, sentences, outlines, shown, .. } = self;
        let (wide, words) = (shown.x, &order.language.sheet);
        let picture_wide = wide * 0.31;
        let mut column = Column::new(dvec2(0.0, 0.0), wide, size);
        let overview = &order.overview;
        if !overview.decide.is_empty() {
            column.heading(overview.heading());
            for told in overview.decide.iter().take(most) {
                column.item(&told.sentences());
            }
            more(&mut column, words, overview.decide.len(), most);
        }
        column.heading(&words.glance);
        let lines = overview.lines();
        let lines: Vec<(&str, &str)> = lines.iter().map(|line| (&*line.label, &*line.text)).collect();
        column.labelled(&lines);
        column.heading(&words.stack);
        let from = column.at.y;
        column.wide = wide - picture_wide - 4.0;
        let with_unit = |form: &str| filled(form, &[("unit", &sentences.unit())]);
        let (low, high) = (with_unit(&words.from), with_unit(&words.to));
        let mut rows = vec![vec![words.what.clone(), words.material.clone(), words.size.clone(), low, high]];
        rows.extend(stack_rows(order, sentences).into_iter().take(most));
        let stack_count = order.stack.len() + order.dowels.len();
        column.table(&rows, true, 3);
        more(&mut column, words, stack_count, most);
        if !order.dowels.is_empty() {
            let count = order.dowel_count().to_string();
            column.heading(&filled(&words.dowels, &[("count", &count)]));
            order.dowels.iter().take(most).for_each(|cut| column.check(&sentences.dowel(cut)));
            more(&mut column, words, order.dowels.len(), most);
            column.check(&filled(&words.dowels_out, &[("count", &count)]));
        }
        let space = (column.at.y - from).max(size * 16.0);
        let picture = section(plan, order, outlines, dvec2(picture_wide, space), size * 0.8);
        let (lo, hi) = picture.bounds().unwrap_or_default();
        column.drawing.extend(&picture, dvec2(wide - hi.x, from + 1.0 - lo.y));
        column.at.y = column.at.y.max(from + 2.0 + hi.y - lo.y);
        column.wide = wide;
        column.heading(&words.care);
        cautions(&order.steady, &order.language).iter().for_each(|caution| column.item(caution));
        (column.drawing, column.at.y)
    }

    /// Carving, coating and finishing, step by step; returns the height used.
    fn steps(&self, size: f64) -> (Drawing, f64) {
        let Self { order, sentences, shown, .. } = self;
        let words = &order.language.sheet;
        let mut column = Column::new(dvec2(0.0, 0.0), shown.x, size);
        column.heading(&words.make);
        sentences.steps().iter().for_each(|step| column.check(step));
        column.heading(&words.thin);
        order.thin.iter().for_each(|thin| column.item(&sentences.thin(thin)));
        column.item(&sentences.turning());
        if order.kind == ShapeKind::StraightSided {
            column.heading(&words.where_to_cut);
            column.paragraph(&order.language.reach.straight_down);
        }
        (column.drawing, column.at.y)
    }

    /// Chart and table; returns the height used.
    fn depths(&self, size: f64, most: usize) -> (Drawing, f64) {
        let Self { plan, order, sentences, bands, shown, .. } = self;
        let (style, words) = (order.language.style(plan.design.style), &order.language.sheet);
        let mut column = Column::new(dvec2(0.0, 0.0), shown.x, size);
        column.heading(&words.comes_off);
        let high = shown.y * 0.4;
        let text_size = (size * 0.85).max(LEAST_ON_CHART);
        column.drawing.extend(&chart(order, bands, style, dvec2(shown.x, high), text_size), column.at);
        column.at.y += high;
        let unit = if order.all_round { String::new() } else { format!(" ({})", sentences.unit_name()) };
        column.heading(&(filled(&words.radii, &[("pass", &sentences.mm(order.pass))]) + &unit));
        column.table(&table(order, sentences, most), true, 0);
        more(&mut column, words, order.rows.len(), most);
        if order.all_round {
            column.paragraph(&words.all_round);
        } else {
            column.paragraph(&words.passes_by_depth);
        }
        column.paragraph(&words.passes_mean);
        (column.drawing, column.at.y)
    }
}

impl Sheet<'_> {
    /// Whether it stands and travels, what it weighs, what is hidden in it; returns the height used.
    fn steady(&self, size: f64, most: usize) -> (Drawing, f64) {
        let Self { order, shown, .. } = self;
        let (steady, words, sheet) = (&order.steady, &order.language.steady, &order.language.sheet);
        let mut column = Column::new(dvec2(0.0, 0.0), shown.x, size);
        column.heading(&words.heading);
        column.strong(&words.estimate);
        steady.answers.iter().for_each(|answer| column.item(answer));
        column.item(&steady.warmth);
        column.heading(&words.scales);
        let rows = |all: &[Vec<String>]| all.iter().take(most).cloned().collect::<Vec<_>>();
        column.table(&rows(&steady.weights), true, 1);
        more(&mut column, sheet, steady.weights.len(), most);
        column.paragraph(&filled(&words.carried, &[("mass", &steady.carried)]));
        column.heading(&words.levels);
        column.table(&rows(&steady.levels), false, 1);
        more(&mut column, sheet, steady.levels.len(), most);
        column.heading(&words.in_car);
        column.table(&rows(&steady.journey), false, 1);
        if steady.hidden_count() > 0 {
            column.heading(&words.hidden);
            for hidden in steady.hidden.iter().take(most) {
                column.check(&hidden.told(&order.language));
            }
            more(&mut column, sheet, steady.hidden.len(), most);
        }
        column.heading(&words.not_covered);
        column.paragraph(&words.left_out);
        (column.drawing, column.at.y)
    }
}

/// The table of the second page: one column of figures where all is round, else one for each bearing.
fn table(order: &CuttingOrder, sentences: &Sentences<'_>, most: usize) -> Vec<Vec<String>> {
    let words = &order.language.reach;
    let rows = order.rows.iter().take(most);
    if order.all_round {
        let head = [&words.height, &words.radius_to_reach, &words.across, &words.off, &words.in_passes];
        let mut table = vec![head.map(String::clone).to_vec()];
        table.extend(rows.filter_map(|row| {
            let reach = row.places[0]?;
            if row.moulded {
                let off = ["–".to_owned(), words.cast.clone()];
                let sizes = [row.height, reach.radius, 2.0 * reach.radius].map(|mm| sentences.mm(mm));
                return Some(sizes.into_iter().chain(off).collect());
            }
            Some(vec![
                sentences.mm(row.height),
                sentences.mm(reach.radius),
                sentences.mm(2.0 * reach.radius),
                sentences.mm(reach.depth.max(0.0)),
                sentences.passes(&reach),
            ])
        }));
        return table;
    }
    // The radius has a column of its own where it is the same all round and only the stack is not.
    let one_radius = order.rows.iter().all(Row::has_one_radius);
    let second = if one_radius { words.radius.clone() } else { String::new() };
    let head = [words.height.clone(), second].into_iter().chain(order.language.side.names.clone());
    let mut table = vec![head.collect::<Vec<_>>()];
    for row in rows {
        let cells = |of: &dyn Fn(&Reach) -> String| -> Vec<String> {
            row.places.iter().map(|place| place.as_ref().map_or("–".into(), of)).collect()
        };
        let passes = cells(&|reach| {
            if row.moulded { words.moulded.clone() } else { sentences.bare_passes(reach) }
        });
        let radii = cells(&|reach| sentences.bare(reach.radius));
        if one_radius {
            table.push([vec![sentences.bare(row.height), radii[0].clone()], passes].concat());
        } else {
            table.push([vec![sentences.bare(row.height), words.radius.clone()], radii].concat());
            table.push([vec![String::new(), words.passes.clone()], passes].concat());
        }
    }
    table
}

/// The stack from the bottom up, each tier's dowels after its last layer; the centre dowel first if its foot is fast, last if
/// it goes in once all is stacked.
fn stack_rows(order: &CuttingOrder, sentences: &Sentences<'_>) -> Vec<Vec<String>> {
    let dowels = |tier: Option<usize>| {
        order.dowels.iter().filter(move |cut| cut.tier == tier).map(|cut| {
            vec![
                format!("{} × {}", cut.count, cut.name),
                cut.material.clone(),
                filled(&order.language.thing.thick, &[("size", &sentences.mm(cut.diameter))]),
                sentences.bare(cut.bottom),
                sentences.bare(cut.bottom + cut.length),
            ]
        })
    };
    let fast = sentences.plan.design.centre_dowel.as_ref().is_some_and(|dowel| dowel.fast);
    let mut rows: Vec<Vec<String>> = if fast { dowels(None).collect() } else { Vec::new() };
    for (i, slab) in order.stack.iter().enumerate() {
        rows.push(vec![
            slab.name.clone(),
            slab.material.clone(),
            sentences.outline(slab.slab),
            sentences.bare(slab.bottom),
            sentences.bare(slab.top),
        ]);
        if order.stack.get(i + 1).is_none_or(|next| next.tier != slab.tier) {
            rows.extend(dowels(Some(slab.tier)));
        }
    }
    if !fast {
        rows.extend(dowels(None));
    }
    rows
}

fn more(column: &mut Column, words: &SheetWords, all: usize, most: usize) {
    if all > most {
        column.strong(&filled(&words.more, &[("count", &(all - most).to_string())]));
    }
}
