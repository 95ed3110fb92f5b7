//! Colours with a meaning, held to colour-science (PyPI): its CIEDE2000 distances, its model of colour vision deficiency
//! (Machado, Oliveira and Fernandes, 2009) and its relative luminance.

use crumbline::viewer::scale::{DepthScale, SHORTFALL};
use geom::units::{Unit, UnitStyle};

use crate::reference;

#[test]
fn depths_and_shortfall_are_told_apart_by_every_eye() {
    /// Two colours are seen to differ at 2.3 (the just noticeable difference of CIELAB; handbooks of colour, from memory);
    /// side by side in patches of a picture, five times that is told at a glance (common practice, no source).
    const AT_A_GLANCE: f64 = 12.0;
    let Some(python) = reference::python() else { return };
    let unit = Unit::Millimetre;
    let bands = DepthScale::reaching(80.0, unit).legend(UnitStyle::new(unit));
    let colours: Vec<String> = bands
        .iter()
        .map(|(colour, _)| *colour)
        .chain([SHORTFALL])
        .map(|colour| format!("{:02x}{:02x}{:02x}", colour.0, colour.1, colour.2))
        .collect();
    assert_eq!(colours.len(), 6);
    let found = reference::asked(&python, "colours.py", &colours);
    for (sight, least) in found["sights"].as_object().unwrap() {
        let apart = least[0].as_f64().unwrap();
        println!("{sight}: {apart:.1} between {} and {}", least[1], least[2]);
        assert!(apart >= AT_A_GLANCE, "{sight}: {least}");
    }
    // The deeper, the darker: in grey each is told from the next.
    let contrast: Vec<f64> =
        found["contrast"].as_array().unwrap().iter().map(|c| c.as_f64().unwrap()).collect();
    assert!(contrast[..4].iter().all(|c| *c >= 1.3), "{contrast:?}");
}
