//! Whole kits, as written, in the hands of trimesh and manifold3d (`tests/reference/kit_parts.py`).

use super::write_example;
use crate::{
    reference::{asked, number, python},
    support::assert_close,
};

/// Whole kits of all examples, as written: every STL is one closed body that does not run through itself and
/// lies on the bed; every 3MF holds the parts in mm, on the bed and clear of each other.
#[test]
fn trimesh_and_manifold3d_take_every_part_of_every_example() {
    let Some(python) = python() else { return };
    for (name, least) in [("toadstool-house", 60), ("garden-urn", 60), ("lopsided-bell", 30), ("boulder", 40)]
    {
        let folder = tempfile::tempdir().unwrap();
        write_example(name, folder.path(), &["--all"]);
        let at = folder.path().to_str().unwrap();
        let parts = asked(&python, "kit_parts.py", &["parts", at]);
        let parts = parts.as_object().unwrap();
        assert!(parts.len() >= least, "{name}: {}", parts.len());
        for (file, found) in parts {
            assert_eq!(found["watertight"], true, "{file}: {found}");
            assert_eq!(found["winding_consistent"], true, "{file}: {found}");
            assert_eq!(found["bodies"], 1, "{file}: {found}");
            assert_eq!(found["status"], "Error.NoError", "{file}: {found}");
            assert_close(file, number(found, "manifold_volume"), number(found, "volume"), 1e-6);
            assert!(number(found, "off_whole") < 1e-6, "{file}: {found}");
            assert!(
                number(found, "least_winding") >= 0.0 && number(found, "greatest_winding") == 1.0,
                "{file}: {found}"
            );
            assert_eq!(found["lo"][2], 0.0, "{file}: {found}");
            // The size in the name is the size of the part.
            let size = (0..3).map(|i| found["hi"][i].as_f64().unwrap() - found["lo"][i].as_f64().unwrap());
            let named = size.map(|s| format!("{}", s.round().max(1.0))).collect::<Vec<_>>().join("x");
            assert!(file.ends_with(&format!("-{named}mm.stl")), "{file}: {named}");
        }
        let beds = asked(&python, "kit_parts.py", &["beds", at]);
        for (file, bed) in beds.as_object().unwrap() {
            assert_eq!(bed["units"], "millimeter", "{file}");
            assert!(number(bed, "shared") < 1e-9, "{file}: {bed}");
            for part in bed["parts"].as_array().unwrap() {
                assert_eq!(part["watertight"], true, "{file}: {part}");
                assert!(part["name"].as_str().is_some_and(|n| n.contains(|c: char| c.is_alphabetic())));
                for (i, most) in [220.0, 220.0, 250.0].into_iter().enumerate() {
                    assert!(
                        part["lo"][i].as_f64().unwrap() > -1e-4 && part["hi"][i].as_f64().unwrap() <= most
                    );
                }
            }
        }
    }
}
