//! The shave chart: how much comes off, over height and bearing, in bands of passes.

use glam::{DVec2, dvec2};

use super::order::CuttingOrder;
use crate::language::{SideWords, filled};
use formats::{
    drawing::{BLACK, Drawing, Lettering, PALE, Pen, WHITE},
    model::Rgb,
};
use geom::{
    Region,
    contour::Grid,
    units::{Unit, UnitStyle},
};
use plan::stack::SlabKind;

/// From the first pass to the most: light to dark, told apart without colours.
const BANDS: [Rgb; 8] = [
    Rgb(253, 243, 220),
    Rgb(250, 222, 176),
    Rgb(244, 195, 134),
    Rgb(232, 163, 98),
    Rgb(212, 130, 71),
    Rgb(180, 98, 52),
    Rgb(140, 68, 40),
    Rgb(96, 44, 30),
];

/// Stands where the shape has no surface: far below any depth.
const NOTHING: f64 = -1e6;

/// The chart's bands, before they are laid out.
pub struct Bands {
    grid: Grid,
    /// Where the shape has a surface.
    shape: Region,
    /// Where at least so many bands come off, from none up.
    regions: Vec<Region>,
    /// How much a band holds, mm.
    each: f64,
}

impl Bands {
    /// The bands of `order`'s chart.
    pub fn new(order: &CuttingOrder) -> Self {
        let grid = grid(order);
        let deepest = grid.values.iter().flatten().copied().fold(0.0, f64::max);
        let (each, count) = bands(order.pass, deepest);
        let shape = grid.at_least(NOTHING / 2.0);
        let regions = (0..count).map(|band| grid.at_least(f64::from(band) * each)).collect();
        Self { grid, shape, regions, each }
    }

    fn count(&self) -> u32 {
        self.regions.len() as u32
    }

    fn colour(&self, band: u32) -> Rgb {
        BANDS[band as usize * (BANDS.len() - 1) / (self.regions.len().max(2) - 1)]
    }
}

/// The chart in a frame of `size`, text `text_size` mm high.
pub fn chart(order: &CuttingOrder, found: &Bands, style: UnitStyle, size: DVec2, text_size: f64) -> Drawing {
    let mut drawing = Drawing::new();
    let left = text_size * 5.2;
    let right = text_size * 6.5;
    let below = text_size * 2.6;
    let legend = Legend::new(order, found, style, size.x, text_size);
    let legend_high = legend.high() + text_size * 0.6;
    let plot = size - dvec2(left + right, below + legend_high);
    let top = found.grid.y.last().copied().unwrap_or(1.0).max(1.0);
    let place =
        |x: f64, z: f64| dvec2(left + (x + 180.0) / 360.0 * plot.x, legend_high + (1.0 - z / top) * plot.y);
    let laid = |region: &Region| -> Vec<Vec<DVec2>> {
        region.contours().iter().map(|c| c.iter().map(|p| place(p.x, p.y)).collect()).collect()
    };
    drawing.closed(laid(&found.shape), Some(PALE), None);
    for (band, region) in (0..).zip(&found.regions) {
        drawing.closed(laid(region), Some(found.colour(band)), Some(Pen::black(0.12)));
    }
    seams(&mut drawing, order, &place, top, text_size, left + plot.x);
    axes(&mut drawing, &order.language.side, style, &place, top, text_size);
    numbers(&mut drawing, found, &place, order.pass, text_size);
    drawing.rectangle(place(-180.0, top), place(180.0, 0.0), None, Some(Pen::black(0.3)));
    legend.draw(&mut drawing);
    drawing
}

/// The chart with the front in the middle and the back at both ends.
fn grid(order: &CuttingOrder) -> Grid {
    let chart = &order.chart;
    let count = chart.bearings.len();
    let half = count / 2;
    let column = |i: usize| (i + half) % count;
    let x = (0..=count).map(|i| -180.0 + 360.0 * i as f64 / count as f64).collect();
    let row = |depths: &Vec<Option<f64>>| {
        (0..=count).map(|i| depths[column(i)].unwrap_or(NOTHING)).collect::<Vec<f64>>()
    };
    Grid { x, y: chart.heights.clone(), values: chart.depth.iter().map(row).collect() }
}

/// How much a band holds, in whole passes, and how many bands there are.
fn bands(pass: f64, deepest: f64) -> (f64, u32) {
    let passes = (deepest / pass).ceil().max(1.0);
    let each = (passes / BANDS.len() as f64).ceil().max(1.0);
    (each * pass, (passes / each).ceil() as u32)
}

/// How many passes, written in every band that has room for it.
fn numbers(
    drawing: &mut Drawing,
    found: &Bands,
    place: &impl Fn(f64, f64) -> DVec2,
    pass: f64,
    text_size: f64,
) {
    let (grid, each, bands) = (&found.grid, found.each, found.count());
    let band = |depth: f64| (depth >= 0.0).then(|| ((depth / each).ceil().max(1.0) as u32).min(bands));
    for bearing in [-112.5, -22.5, 67.5, 157.5] {
        let column = grid.x.iter().position(|&x| x >= bearing).unwrap_or(0);
        let x = grid.x[column];
        let here: Vec<Option<u32>> = grid.values.iter().map(|row| band(row[column])).collect();
        let mut from = 0;
        for row in 0..here.len() {
            if here.get(row + 1) == Some(&here[row]) {
                continue;
            }
            let (low, high) = (place(x, grid.y[from]), place(x, grid.y[row]));
            let room = low.y - high.y > text_size * 1.1;
            from = row + 1;
            let Some(number) = here[row].filter(|_| room) else { continue };
            let passes = (f64::from(number) * each / pass).round();
            let ink = if number * 2 > bands + 1 { WHITE } else { BLACK };
            let middle = (low + high) / 2.0 + dvec2(0.0, text_size * 0.36);
            drawing.text(Lettering::new(format!("{passes}"), middle, text_size).bold().centred().ink(ink));
        }
    }
}

fn axes(
    drawing: &mut Drawing,
    words: &SideWords,
    style: UnitStyle,
    place: &impl Fn(f64, f64) -> DVec2,
    top: f64,
    text_size: f64,
) {
    let thin = Pen::grey(0.12);
    let (front, back) = (&words.names[0], &words.names[4]);
    let names =
        [(-180.0, back), (-90.0, &words.left_side), (0.0, front), (90.0, &words.right_side), (180.0, back)];
    for step in -4..=4 {
        let x = f64::from(step) * 45.0;
        drawing.line(place(x, 0.0), place(x, top), thin);
    }
    for (x, name) in names {
        let at = place(x, 0.0) + dvec2(0.0, text_size * 1.3);
        drawing.text(Lettering::new(name, at, text_size).bold().centred());
    }
    let [small, large] = if style.length == Unit::Inch { [25.4, 50.8] } else { [20.0, 50.0] };
    let every = if top > 160.0 { large } else { small };
    let mut z = 0.0;
    while z <= top {
        drawing.line(place(-180.0, z), place(180.0, z), thin);
        let at = place(-180.0, z) + dvec2(-1.2, text_size * 0.36);
        drawing.text(Lettering::new(style.in_own(z), at, text_size).ending());
        z += every;
    }
}

/// Seams between layers across the chart, the layers' names beside it.
fn seams(
    drawing: &mut Drawing,
    order: &CuttingOrder,
    place: &impl Fn(f64, f64) -> DVec2,
    top: f64,
    text_size: f64,
    right: f64,
) {
    for slab in order.stack.iter().filter(|slab| slab.kind == SlabKind::Layer && slab.bottom < top) {
        for z in [slab.bottom, slab.top] {
            if z < top {
                drawing.line(place(-180.0, z), place(180.0, z) + dvec2(2.0, 0.0), Pen::grey(0.25));
            }
        }
        let (low, high) = (place(0.0, slab.bottom), place(0.0, slab.top.min(top)));
        if low.y - high.y < text_size {
            continue;
        }
        let middle = (low + high) / 2.0;
        let mut name = Lettering::new(&slab.name, dvec2(right + 2.6, middle.y + text_size * 0.36), text_size);
        let room = text_size * 6.5 - 2.6;
        name.size *= (room / name.width()).min(1.0);
        drawing.text(name);
    }
}

/// One entry of the legend: its colour and what it stands for.
type Entry = (Rgb, String);

/// What the colours stand for, in rows that are no wider than the chart; it is read at arm's length, so its words are never
/// made smaller.
struct Legend {
    rows: Vec<Vec<(Rgb, Lettering)>>,
    text_size: f64,
}

impl Legend {
    /// The legend of `order`'s chart, `wide` mm wide at most.
    fn new(order: &CuttingOrder, found: &Bands, style: UnitStyle, wide: f64, text_size: f64) -> Self {
        let mut rows: Vec<Vec<(Rgb, Lettering)>> = vec![Vec::new()];
        let mut x = 0.0;
        for (colour, text) in entries(order, found, style) {
            let text = Lettering::new(text, DVec2::ZERO, text_size);
            let entry_wide = Self::swatch(text_size) + GAP + text.width();
            if x > 0.0 && x + entry_wide > wide {
                rows.push(Vec::new());
                x = 0.0;
            }
            let at = dvec2(x + Self::swatch(text_size) + GAP, 0.0);
            if let Some(row) = rows.last_mut() {
                row.push((colour, Lettering { at, ..text }));
            }
            x += entry_wide + text_size;
        }
        Self { rows, text_size }
    }

    /// Width of the field that shows a colour, mm.
    fn swatch(text_size: f64) -> f64 {
        text_size * 1.4
    }

    /// From row to row, mm.
    fn row_high(&self) -> f64 {
        self.text_size * 1.6
    }

    /// Height of all rows, mm.
    fn high(&self) -> f64 {
        self.row_high() * self.rows.len() as f64
    }

    fn draw(self, drawing: &mut Drawing) {
        let swatch = Self::swatch(self.text_size);
        let row_high = self.row_high();
        for (i, row) in self.rows.into_iter().enumerate() {
            let top = i as f64 * row_high + 0.3;
            for (colour, text) in row {
                let left = text.at.x - GAP - swatch;
                let foot = dvec2(left + swatch, top + swatch * 0.8);
                drawing.rectangle(dvec2(left, top), foot, Some(colour), Some(Pen::black(0.15)));
                drawing.text(Lettering { at: dvec2(text.at.x, top + swatch * 0.7), ..text });
            }
        }
    }
}

/// Between a colour of the legend and its words, mm.
const GAP: f64 = 1.0;

fn entries(order: &CuttingOrder, found: &Bands, style: UnitStyle) -> Vec<Entry> {
    let (each, words) = (found.each, &order.language.reach);
    let band = |band: u32| {
        let passes = (f64::from(band + 1) * each / order.pass).round();
        let form = if passes == 1.0 { &words.to_pass } else { &words.to_passes };
        let to = style.in_own(f64::from(band + 1) * each);
        (found.colour(band), filled(form, &[("to", &to), ("passes", &passes.to_string())]))
    };
    let is_short = order.chart.depth.iter().flatten().flatten().any(|&depth| depth < 0.0);
    let short = is_short.then(|| (PALE, words.shortfall.clone()));
    short.into_iter().chain((0..found.count()).map(band)).collect()
}
