//! Drawings with bytes changed, taken out and put in.

use plan::outline::svg::{SvgQuery, read_svg_figure};

use crate::{changes::fuzz, support::tolerance};

#[test]
fn changed_drawings_do_no_harm() {
    let seeds = [
        r##"<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY w "30">]><svg xmlns="http://www.w3.org/2000/svg"
        xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:d="http://example.org" width="200mm" height="100mm"
        viewBox="0 0 200 100"><style>.a { fill-rule: evenodd }</style><g d:label="front"
        transform="translate(3 4) rotate(12)"><path id="p" class="a" d="M10 10h&w;v30a5 8 10 1 0-9 9q3 4 5 6t9 9c1 2
        3 4 5 6s7 8 9 9zM15 15h5v5h-5z"/><use xlink:href="#q"/></g><defs><rect id="q" width="3" height="4"/></defs>
        <circle id="c" cx="5" cy="6" r="7"/><polygon points="1,2 3,4 5,1"/></svg>"##
            .as_bytes()
            .to_vec(),
        br#"<svg xmlns="http://www.w3.org/2000/svg" width="4in" height="3in"><g id="g"><ellipse rx="3" ry="4"/>
        <line x1="1" y2="3"/><text>a</text><image href="http://example.org/a.png"/></g></svg>"#
            .to_vec(),
    ];
    fuzz(&seeds, |bytes| {
        let mut found = false;
        for query in [
            SvgQuery::default(),
            SvgQuery { layer: Some("front".into()), ..SvgQuery::default() },
            SvgQuery { id: Some("g".into()), user_unit: Some(2.0), ..SvgQuery::default() },
            SvgQuery { id: Some("p".into()), ..SvgQuery::default() },
        ] {
            if let Ok(figure) = read_svg_figure(bytes, &query) {
                assert!(figure.region(tolerance(0.05)).area().is_finite());
                found = true;
            }
        }
        found
    });
}
