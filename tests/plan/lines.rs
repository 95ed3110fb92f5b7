//! The lines lie one inside the other by the thickness of the coverings, measured point by point.

use geom::{Region, region::GRID};
use glam::{DVec2, dvec2};
use plan::Plan;

use crate::{plans::plan, support::tolerance};

/// Two coverings, 4 and 6 mm, on a shape with a belly, a waist, a ledge that overhangs and a dome.
fn waisted(chord: f64) -> Plan {
    plan(&format!(
        "crumbline = 1\nname = \"waisted\"\naccuracy = {{ tool = {chord} }}\n[shape.turned]\nfrom = [80, 0]\n\
         draw = [\n{{ to = [70, 90], through = [95, 50] }},\n{{ to = [120, 120], curve = [[60, 105], [110, 100]] }},\n\
         {{ to = [0, 190], through = [90, 165] }},\n]\n\
         [[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 6\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 250 }}\nheight = 200\n"
    ))
}

/// Points every millimetre along the outside of a section: not on the axis, not on the board.
fn outside(section: &Region) -> Vec<DVec2> {
    let on_edge = |a: DVec2, b: DVec2| (a.x == 0.0 && b.x == 0.0) || (a.y == 0.0 && b.y == 0.0);
    let fine = section.refined(1.0);
    fine.edges().filter(|&(a, b)| !on_edge(a, b)).map(|(a, _)| a).filter(|p| p.x > 0.0 && p.y > 0.0).collect()
}

/// Distance from `p` to the outside of a section, the axis and the board being none.
fn to_outside(section: &Region, p: DVec2) -> f64 {
    let on_edge = |a: DVec2, b: DVec2| (a.x == 0.0 && b.x == 0.0) || (a.y == 0.0 && b.y == 0.0);
    let edges = section.edges().filter(|&(a, b)| !on_edge(a, b));
    edges
        .map(|(a, b)| {
            let along = b - a;
            let t = ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
            p.distance(a + along * t)
        })
        .fold(f64::INFINITY, f64::min)
}

/// Every point of a line lies its depth inside the finished line; near the board, where the wall is carried
/// on below, no nearer than that to what is above.
#[test]
fn every_line_lies_its_depth_inside_the_finished_one() {
    for chord in [0.2, 0.02] {
        let cake = waisted(chord);
        let finished = &cake.lines.finished().section;
        assert_eq!(cake.lines.all().iter().map(|line| line.depth).collect::<Vec<_>>(), [0.0, 4.0, 10.0]);
        for line in &cake.lines.all()[1..] {
            let points = outside(&line.section);
            assert!(points.len() > 150, "{}", points.len());
            for p in points {
                assert!(finished.contains(p), "{} leaves the finished line at {p}", line.name);
                let distance = to_outside(finished, p);
                assert!(distance >= line.depth - chord - GRID, "{} lies {distance} inside at {p}", line.name);
                if p.y > 2.0 * line.depth {
                    assert!(
                        distance <= line.depth + chord + GRID,
                        "{} lies {distance} inside at {p}",
                        line.name
                    );
                }
            }
        }
    }
}

/// The carved line is where the finished one is a ball's width away everywhere: nothing between them is
/// missing either.
#[test]
fn everything_deeper_than_the_coverings_is_left() {
    let cake = waisted(0.05);
    let (finished, carved) = (&cake.lines.finished().section, &cake.lines.carved().section);
    let (lo, hi) = finished.bounds().unwrap();
    let mut tried = 0;
    for p in crate::support::evenly(4000).map(|p| crate::support::between(lo, hi, p)) {
        if finished.contains(p) && to_outside(finished, p) > 10.0 + 0.05 && p.y > 20.0 {
            assert!(carved.contains(p), "{p} is taken off");
            tried += 1;
        }
    }
    assert!(tried > 1000);
}

#[test]
fn lines_lie_one_inside_the_other() {
    let cake = waisted(0.05);
    for pair in cake.lines.all().windows(2) {
        let outside = pair[1].section.difference(&pair[0].section);
        assert!(outside.area() < 1e-6, "{} mm² of {} lie outside", outside.area(), pair[1].name);
    }
}

/// A coat over the carved cake never bulges beyond the finished line, and what it misses is told.
#[test]
fn erosion_then_dilation_stays_inside() {
    let cake = waisted(0.02);
    let fine = tolerance(0.02);
    let whole = |half: &Region| half.union(&half.mirrored());
    let above = |region: Region| region.right_half().between(20.0, 400.0);
    let coat = above(whole(&cake.lines.carved().section).outset(10.0, fine));
    let beyond = coat.difference(&cake.lines.finished().section);
    assert!(
        beyond.contours().iter().flatten().all(|p| to_outside(&cake.lines.finished().section, *p) < 0.04)
    );
    let missing = above(cake.lines.finished().section.clone()).difference(&coat);
    let worst = missing.contours().iter().flatten().map(|&p| -coat.depth(p)).fold(0.0, f64::max);
    let told = cake.lines.lost().iter().map(|lost| lost.by).fold(0.0, f64::max);
    assert!(told > 0.5 && (worst - told).abs() < 0.05, "{worst} missing, {told} told");
}

/// A cylinder's carved line is a smaller cylinder: the knife goes square, and the board takes no coat.
#[test]
fn a_cylinder_stays_a_cylinder_down_to_the_board() {
    let cake = plan(
        "crumbline = 1\nname = \"cylinder\"\n[shape.turned]\npoints = [[100, 0], [100, 120]]\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 7\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 120\n",
    );
    let carved = &cake.lines.carved().section;
    assert!((carved.area() - 93.0 * 113.0).abs() < 1e-6);
    assert_eq!(carved.bounds().unwrap().0, DVec2::ZERO);
    assert!((carved.bounds().unwrap().1 - dvec2(93.0, 113.0)).length() < 1e-7);
}

#[test]
fn coverings_that_leave_nothing_are_refused_with_their_place() {
    let file = cakefile::CakeFile::from_text(
        "thin.cake.toml",
        "",
        "crumbline = 1\nname = \"thin\"\n[shape.turned]\npoints = [[9, 0], [9, 120]]\n\
         [[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 6\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 120\n",
    );
    let error = crate::plans::planned(&file).unwrap_err().to_string();
    assert!(error.contains("ganache") && error.contains("10 mm"), "{error}");
}

/// A closed outline whose last point repeats the first leaves the hollow that it runs round: a ring holds
/// π (R² − r²) h, any handbook.
#[test]
fn a_closed_outline_leaves_its_hollow() {
    let text = "crumbline = 1\nname = \"Ring\"\n[shape.turned]\n\
                points = [[40, 0], [60, 0], [60, 50], [40, 50], [40, 0]]\n\
                [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 140 }\nheight = 50\n";
    let ring = crate::plans::plan(text);
    let exact = std::f64::consts::PI * (60.0 * 60.0 - 40.0 * 40.0) * 50.0;
    crate::support::assert_close("ring", ring.carving.carved, exact, 1e-12);
}
