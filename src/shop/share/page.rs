//! The page itself, put together of its parts.

use base64::{Engine, prelude::BASE64_STANDARD};

use super::{
    changes::{self, Facts},
    choices::hex,
    front::front,
    meshes::Meshes,
    options::Options,
    parts::Parts,
    picture::Picture,
    prices::WorkedOut,
    scripts, sections,
};
use crate::{
    maker_look::MakerLook,
    order_check::OrderCheck,
    quote::{ClientText, Quote},
};
use formats::{
    escape::{html, html_json, line},
    model::Tint,
    tint::ALL_OVER,
};
use make::language::{Language, filled};
use plan::{Plan, extent::standing};

/// What the page is made of.
#[derive(Debug, Clone, Copy)]
pub struct Page<'a> {
    /// The cake.
    pub plan: &'a Plan,
    /// What it costs.
    pub quote: &'a Quote,
    /// What keeps the order from being met.
    pub check: &'a OrderCheck,
    /// What is drawn.
    pub parts: &'a Parts,
    /// The same in few bytes.
    pub meshes: &'a Meshes,
    /// Pictures beside it.
    pub pictures: &'a [Picture],
    /// The mark of the cake.
    pub mark: &'a str,
    /// Names of the GLB and the USDZ file that go with the page.
    pub files: &'a [String; 2],
    /// What an earlier page told.
    pub before: Option<&'a Facts>,
    /// Prices of sizes that are offered without one.
    pub prices: &'a [WorkedOut],
    /// The maker's colours and logo.
    pub look: &'a MakerLook,
    /// The language of the page.
    pub language: &'a Language,
}

/// The light and the finish that the window draws with; `tests/shop/share` holds them against it.
const LIGHT: [(&str, f64); 6] = [
    ("lamp", 0.68),
    ("ceiling", 0.48),
    ("bounce", 0.20),
    ("reflectance", 0.045),
    ("icing", 0.40),
    ("other", 0.5),
];

/// The page as one HTML file.
pub fn page(page: &Page<'_>) -> String {
    let Page { plan, quote, check, parts, language, .. } = *page;
    let told = ClientText::new(quote, check, language);
    let options = Options::new(plan, quote, page.prices, language);
    let facts = page.facts(&told, &options);
    let (style, script) = (scripts::style(page.look), scripts::script());
    let words = &language.share;
    let name = html(&quote.name);
    let mut out = format!(
        "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n<meta \
         http-equiv=\"Content-Security-Policy\" content=\"{}\">\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n<meta \
         name=\"referrer\" content=\"no-referrer\">\n<meta name=\"format-detection\" \
         content=\"telephone=no\">\n<title>{name}</title>\n<style>{style}</style>\n</head>\n<body>\n<main class=\"page\">\n",
        html(&language.language),
        scripts::policy(&script, &style),
    );
    out += &sections::head(quote, check, &told, page.look, language);
    let contents = told.contents.join(". ");
    let drawing = front(parts, &html(&words.outline));
    let alt = filled(&words.alt, &[("contents", &contents)]);
    out += &sections::look(&alt, &drawing, parts.stages.len() - 1, page.pictures, words);
    out += "<div class=\"told\">\n";
    if let Some(before) = page.before {
        out += &sections::changed(&facts, before, words);
    }
    out += &sections::choose(&options, quote, words);
    out += &sections::prices(&told, quote, &options, language);
    out += &sections::contents(&told, &extent(plan, quote, language), language);
    out += &sections::cautions(&told, language);
    out += &sections::files(page.files, words);
    out += "</div>\n";
    out += &sections::foot(page.mark, &told, quote, words);
    out += "</main>\n";
    let element =
        |kind: &str, id: &str, text: &str| format!("<script type=\"{kind}\" id=\"{id}\">{text}</script>\n");
    let json =
        |id: &str, value: &serde_json::Value| element("application/json", id, &html_json(&value.to_string()));
    out += &json(changes::ELEMENT, &serde_json::json!(facts));
    out += &json("model", &page.model(&options));
    out += &json("shaders", &scripts::shaders());
    out += &element("text/plain", "meshes", &BASE64_STANDARD.encode(&page.meshes.packed.bytes));
    out += &format!("<script>{script}</script>\n</body>\n</html>\n");
    out
}

/// Width, depth and height in words, as the cake stands when it is served.
pub(super) fn extent(plan: &Plan, quote: &Quote, language: &Language) -> String {
    let (low, high) = standing(plan);
    let style = language.style(quote.style);
    let told = (high - low).to_array().map(|mm| style.length(mm));
    let [width, depth, height] = told.each_ref().map(String::as_str);
    let words =
        if plan.design.board.is_some() { &language.share.extent } else { &language.share.extent_bare };
    filled(words, &[("width", width), ("depth", depth), ("height", height)])
}

impl Page<'_> {
    /// What the script is told of the cake.
    fn model(&self, options: &Options) -> serde_json::Value {
        let words = &self.language.share;
        let packed = &self.meshes.packed;
        let tint = |tint: &Tint| {
            let [full, gone] = tint.fade.unwrap_or(ALL_OVER);
            serde_json::json!({
                "colour": hex(tint.colour),
                "opacity": tint.opacity,
                "fade": [full, gone, tint.metal],
            })
        };
        let part = |(part, [vertices, triangles]): (&super::ViewPart, &[usize; 2])| {
            serde_json::json!({
                "vertices": vertices,
                "triangles": triangles,
                "look": part.look as u8,
                "colour": hex(part.colour),
                "tints": part.tints.iter().map(tint).collect::<Vec<_>>(),
                "stages": part.stages,
                "choice": part.choice,
            })
        };
        let parts: Vec<_> = self.parts.parts.iter().zip(&packed.counts).map(part).collect();
        let choices: Vec<&str> = options.colours.iter().map(|choice| choice.name.as_str()).collect();
        let light: serde_json::Map<String, serde_json::Value> =
            LIGHT.iter().map(|(name, value)| ((*name).to_owned(), (*value).into())).collect();
        serde_json::json!({
            "name": line(&self.quote.name),
            "mark": self.mark,
            "origin": packed.origin,
            "step": packed.step,
            "stages": self.parts.stages,
            "parts": parts,
            "light": light,
            "choices": choices,
            "sizes": !options.sizes.is_empty(),
            "email": self.quote.maker.email,
            "words": {
                "want": format!("{}.", words.want),
                "cake": words.key_cake,
                "serves": words.key_serves,
                "remarks": words.key_remarks,
                "copied": words.copied,
                "subject": filled(&words.subject, &[("cake", &line(&self.quote.name))]),
            },
        })
    }

    /// What the next page compares itself with.
    fn facts(&self, told: &ClientText, options: &Options) -> Facts {
        let (language, words) = (self.language, &self.language.share);
        let serves = filled(&words.for_about, &[("count", &self.quote.serves.to_string())]);
        let mut all = vec![
            (words.measures.clone(), format!("{}, {serves}", extent(self.plan, self.quote, language))),
            (language.page.cake.clone(), told.contents.join("; ")),
        ];
        if let Some(total) = told.prices.iter().find(|line| line.is_total) {
            all.push((total.what.clone(), total.price.clone()));
        }
        all.push((language.allergens.heading.clone(), told.allergens.join(" ")));
        for size in &options.sizes {
            let count = size.serves.count().to_string();
            all.push((filled(&words.for_about, &[("count", &count)]), size.label.clone()));
        }
        for choice in &options.colours {
            let shown = choice.options.iter().find(|option| option.is_shown);
            let colour = shown.map(|option| match option.colour {
                Some(colour) => format!("{} ({})", option.label, hex(colour)),
                None => option.label.clone(),
            });
            all.push((filled(&words.colour_of, &[("name", &choice.name)]), colour.unwrap_or_default()));
        }
        Facts { mark: self.mark.to_owned(), language: language.language.clone(), told: all }
    }
}
