//! The shaders that import nothing are valid WGSL on their own.

use crumbline::viewer::SHADERS;

#[test]
fn shaders_without_imports_pass_the_validator() {
    let alone: Vec<_> = SHADERS.iter().filter(|(_, text)| !text.contains("#import")).collect();
    assert_eq!(alone.len(), 3, "crumb, contour and light");
    for (name, text) in alone {
        let body: String =
            text.lines().filter(|line| !line.starts_with('#')).map(|l| format!("{l}\n")).collect();
        let module = naga::front::wgsl::parse_str(&body)
            .unwrap_or_else(|e| panic!("{name}: {}", e.emit_to_string(&body)));
        let mut validator = naga::valid::Validator::new(
            naga::valid::ValidationFlags::all(),
            naga::valid::Capabilities::empty(),
        );
        validator.validate(&module).unwrap_or_else(|e| panic!("{name}: {e:?}"));
        assert!(module.functions.len() >= 2);
    }
}
