//! Regions that several tests use.

use glam::dvec2;

use super::Region;

/// Half of a cup with an undercut and a sloping bottom, and a hole in its foot.
pub fn hollow_cup() -> Region {
    let cup = vec![
        dvec2(0.0, 0.0),
        dvec2(50.0, 0.0),
        dvec2(30.0, 40.0),
        dvec2(60.0, 90.0),
        dvec2(40.0, 90.0),
        dvec2(20.0, 45.0),
        dvec2(0.0, 50.0),
    ];
    Region::from_simple(cup).difference(&Region::rectangle(dvec2(10.0, 10.0), dvec2(20.0, 30.0)))
}
