//! The sections of the page as HTML. Every text is escaped here and nowhere else.

use base64::{Engine, prelude::BASE64_STANDARD};
use image::{ImageFormat, RgbaImage};

use super::{
    changes::Facts,
    choices::hex,
    options::{ColourOptions, Options, SizeOption},
    picture::Picture,
};
use crate::{
    maker_look::{MakerLook, within},
    order_check::OrderCheck,
    quote::{ClientText, Quote},
};
use formats::escape::html;
use make::language::{Language, ShareWords, filled};

/// Paragraphs, or items of a list, of some texts.
fn each<'a>(tag: &str, texts: impl IntoIterator<Item = &'a String>) -> String {
    texts.into_iter().map(|text| format!("<{tag} dir=\"auto\">{}</{tag}>\n", html(text))).collect()
}

fn section(heading: &str, class: &str, inner: &str) -> String {
    format!("<section class=\"{class}\">\n<h2 dir=\"auto\">{}</h2>\n{inner}</section>\n", html(heading))
}

/// Who offers what to whom.
pub(super) fn head(
    quote: &Quote,
    check: &OrderCheck,
    told: &ClientText,
    look: &MakerLook,
    language: &Language,
) -> String {
    let mut out = "<header class=\"head\">\n".to_owned();
    if let Some((size, png)) = look.logo.as_deref().and_then(small_logo) {
        // Twice as many pixels as it is shown with, for fine screens.
        let [wide, high] = size.map(|n| n.div_ceil(2));
        out += &format!(
            "<p class=\"logo\"><img src=\"data:image/png;base64,{}\" width=\"{wide}\" height=\"{high}\" alt=\"{}\"></p>\n",
            BASE64_STANDARD.encode(&png),
            html(quote.maker.name.as_deref().unwrap_or(""))
        );
    }
    if let Some(name) = &quote.maker.name {
        out += &format!("<p class=\"by\"><strong dir=\"auto\">{}</strong></p>\n", html(name));
    }
    out += &format!("<h1 dir=\"auto\">{}</h1>\n", html(&quote.name));
    if !check.is_clear() {
        out += &format!(
            "<p class=\"incomplete\"><strong>{}</strong><br>{}</p>\n",
            html(&language.page.incomplete),
            html(&language.share.incomplete)
        );
    }
    out += &format!("<ul class=\"facts\">\n{}</ul>\n", each("li", told.facts()));
    out += &format!("<p class=\"soft\" dir=\"auto\">{}</p>\n</header>\n", html(&told.dated));
    out
}

/// The logo with its size, pixels, as a PNG that leaves a page light enough for a letter.
fn small_logo(logo: &RgbaImage) -> Option<([u32; 2], Vec<u8>)> {
    const ROOM: (u32, u32) = (560, 240);
    const MOST_BYTES: usize = 30_000;
    let mut small = within(logo.clone(), ROOM);
    loop {
        let mut png = std::io::Cursor::new(Vec::new());
        small.write_to(&mut png, ImageFormat::Png).ok()?;
        let png = png.into_inner();
        if png.len() <= MOST_BYTES || small.width().max(small.height()) < 64 {
            return Some(([small.width(), small.height()], png));
        }
        let room = [small.width(), small.height()].map(|n| (n * 4 / 5).max(1));
        small = within(small, room.into());
    }
}

/// The cake: to turn, as a drawing, as pictures.
pub(super) fn look(
    alt: &str,
    drawing: &str,
    last_stage: usize,
    pictures: &[Picture],
    words: &ShareWords,
) -> String {
    let button = |id: &str, label: &str, sign: &str| {
        format!("<button type=\"button\" id=\"{id}\" aria-label=\"{}\">{sign}</button>\n", html(label))
    };
    let buttons = [
        button("nearer", &words.nearer, "+"),
        button("farther", &words.farther, "−"),
        button("left", &words.left, "↺"),
        button("right", &words.right, "↻"),
    ];
    let mut out = format!(
        "<div class=\"look\">\n<div id=\"seen\">\n<canvas id=\"cake\" tabindex=\"0\" role=\"img\" aria-label=\"{}\" \
         aria-describedby=\"turn\"></canvas>\n{drawing}\n<div class=\"near needs-script\">\n{}</div>\n</div>\n",
        html(alt),
        buttons.concat()
    );
    out += &format!(
        "<div class=\"needs-script\">\n<div class=\"making\">\n<label for=\"making\">{}</label>\n<output id=\"stage\" \
         for=\"making\"></output>\n<input type=\"range\" id=\"making\" min=\"0\" max=\"{last_stage}\" \
         value=\"{last_stage}\" step=\"0.01\">\n<button type=\"button\" \
         class=\"plain-button\" id=\"play\">{}</button>\n</div>\n<p class=\"soft\" id=\"turn\">{}</p>\n</div>\n",
        html(&words.making),
        html(&words.play),
        html(&words.turn)
    );
    if !pictures.is_empty() {
        let shown = pictures.iter().map(|picture| {
            let (wide, high) = picture.size;
            format!(
                "<figure><img src=\"data:image/jpeg;base64,{}\" width=\"{wide}\" height=\"{high}\" alt=\"{name}\"><figcaption>{name}\
                 </figcaption></figure>\n",
                BASE64_STANDARD.encode(&picture.jpeg),
                name = html(&picture.name),
            )
        });
        out += &format!("<div class=\"pictures\">\n{}</div>\n", shown.collect::<String>());
    }
    out + "</div>\n"
}

/// What is other than on an earlier page.
pub(super) fn changed(facts: &Facts, before: &Facts, words: &ShareWords) -> String {
    let mark = [("mark", before.mark.as_str())];
    let changed = facts.changed_since(before);
    if changed.is_empty() {
        return section(&filled(&words.unchanged, &mark), "changes", "");
    }
    let row = |cells: &[&str; 3]| {
        let [of, was, is] = cells.map(html);
        format!(
            "<tr><th scope=\"row\" dir=\"auto\">{of}</th><td dir=\"auto\">{was}</td><td dir=\"auto\">{is}</td></tr>\n"
        )
    };
    let table = format!(
        "<table>\n<tr><td></td><th scope=\"col\">{}</th><th scope=\"col\">{}</th></tr>\n{}</table>\n",
        html(&words.before),
        html(&words.now),
        changed.iter().map(row).collect::<String>()
    );
    section(&filled(&words.changed, &mark), "changes", &table)
}

/// The choices as a form, and as text for whoever reads without scripts.
pub(super) fn choose(options: &Options, quote: &Quote, words: &ShareWords) -> String {
    let mut form = String::new();
    if !options.sizes.is_empty() {
        let size = |(i, size): (usize, &SizeOption)| {
            option("serves", i, &size.serves.told(words), &size.label, None, i == 0)
        };
        form += &fieldset(&words.size, options.sizes.iter().enumerate().map(size).collect());
    }
    if options.sizes.iter().any(|size| size.is_worked_out) {
        form += &format!("<p class=\"soft\">{}</p>\n", html(&words.worked_out));
    }
    for (number, choice) in options.colours.iter().enumerate() {
        let colours = choice.options.iter().enumerate().map(|(i, colour)| {
            let shade = colour.colour.map(hex);
            let value = colour.tint.told(words);
            option(&format!("colour{number}"), i, &value, &colour.label, shade.as_deref(), colour.is_shown)
        });
        form += &fieldset(&choice.name, colours.collect());
    }
    let mail = quote.maker.email.as_ref().map(|email| {
        // An address holds nothing that a link cannot (RFC 6068): the pantry's reader sees to it.
        format!("<a class=\"button\" id=\"mail\" href=\"mailto:{}\">{}</a>\n", html(email), html(&words.mail))
    });
    form += &format!(
        "<label class=\"legend\" for=\"remarks\">{}</label>\n<p><textarea id=\"remarks\" rows=\"3\" dir=\"auto\" placeholder=\" \" \
         maxlength=\"4000\"></textarea></p>\n<button class=\"yes\">{}</button>\n",
        html(&words.remarks),
        html(&words.want)
    );
    let answer = format!(
        "<div id=\"answer\" tabindex=\"-1\" role=\"region\" aria-labelledby=\"answered\" hidden>\n<h3 class=\"legend\" \
         id=\"answered\">{}</h3>\n<p id=\"send\">{}</p>\n<textarea id=\"text\" readonly aria-labelledby=\"answered\" \
         aria-describedby=\"send\"></textarea>\n<div class=\"buttons\">\n{}<button type=\"button\" class=\"button\" \
         id=\"copy\">{}</button>\n<span id=\"copied\" role=\"status\"></span>\n</div>\n</div>\n",
        html(&words.answer),
        html(&words.send),
        mail.clone().unwrap_or_default(),
        html(&words.copy)
    );
    let inner = format!("<form id=\"choices\">\n{form}</form>\n{answer}");
    section(&words.choose, "needs-script", &inner) + &plain_choices(options, quote, words)
}

fn fieldset(legend: &str, options: String) -> String {
    format!(
        "<fieldset>\n<legend dir=\"auto\">{}</legend>\n<div class=\"options\">\n{options}</div>\n</fieldset>\n",
        html(legend)
    )
}

fn option(
    name: &str,
    number: usize,
    value: &str,
    label: &str,
    colour: Option<&str>,
    is_chosen: bool,
) -> String {
    let (attribute, swatch) = match colour {
        Some(colour) => (format!(" data-colour=\"{colour}\""), "<span class=\"swatch\"></span>"),
        None => (String::new(), ""),
    };
    let checked = if is_chosen { " checked" } else { "" };
    format!(
        "<span><input type=\"radio\" name=\"{name}\" id=\"{name}-{number}\" value=\"{}\"{attribute}{checked}><label \
         class=\"option\" for=\"{name}-{number}\">{swatch}<span dir=\"auto\">{}</span></label></span>\n",
        html(value),
        html(label)
    )
}

fn plain_choices(options: &Options, quote: &Quote, words: &ShareWords) -> String {
    let row = |name: &str, choices: Vec<&str>| {
        filled(&words.plain_row, &[("name", name), ("choices", &choices.join(" · "))])
    };
    let of_colours = |choice: &ColourOptions| {
        row(&choice.name, choice.options.iter().map(|option| option.label.as_str()).collect())
    };
    let mut rows = Vec::new();
    if !options.sizes.is_empty() {
        rows.push(row(&words.size, options.sizes.iter().map(|size| size.label.as_str()).collect()));
    }
    if options.sizes.iter().any(|size| size.is_worked_out) {
        rows.push(words.worked_out.clone());
    }
    rows.extend(options.colours.iter().map(of_colours));
    if rows.is_empty() {
        return String::new();
    }
    let mail = quote
        .maker
        .email
        .as_ref()
        .map(|email| format!("<p><a href=\"mailto:{0}\">{0}</a></p>\n", html(email)));
    let inner = format!(
        "<p>{}</p>\n<ul>\n{}</ul>\n{}",
        html(&words.plain),
        each("li", &rows),
        mail.unwrap_or_default()
    );
    format!("<noscript>\n{}</noscript>\n", section(&words.choose, "", &inner))
}

/// What is charged.
pub(super) fn prices(told: &ClientText, quote: &Quote, options: &Options, language: &Language) -> String {
    let words = &language.price;
    if told.prices.is_empty() {
        return section(&words.heading, "", &format!("<p>{}</p>\n", html(&words.follows)));
    }
    let row = |line: &crate::quote::PriceLine| {
        format!(
            "<tr{}><th scope=\"row\">{}</th><td>{}</td></tr>\n",
            if line.is_total { " class=\"total\"" } else { "" },
            html(&line.what),
            html(&line.price)
        )
    };
    // Where there are sizes to choose it is said which one this is the price of.
    let size = match options.sizes.is_empty() {
        true => String::new(),
        false => {
            let size = filled(&language.share.for_about, &[("count", &quote.serves.to_string())]);
            format!("<p class=\"soft\">{}</p>\n", html(&size))
        }
    };
    let table = format!("{size}<table>\n{}</table>\n", told.prices.iter().map(row).collect::<String>());
    section(&words.heading, "", &table)
}

/// What it is made of, and how large it is.
pub(super) fn contents(told: &ClientText, extent: &str, language: &Language) -> String {
    let inner = format!(
        "<ul>\n{}</ul>\n<p class=\"soft\" dir=\"auto\">{}: {}</p>\n",
        each("li", &told.contents),
        html(&language.share.measures),
        html(extent)
    );
    section(&language.page.cake, "overleaf", &inner)
}

/// Allergens, what is hidden, how to keep it, and where one signs on paper.
pub(super) fn cautions(told: &ClientText, language: &Language) -> String {
    let strong = told.allergens.iter();
    let strong: String =
        strong.map(|text| format!("<p class=\"strong\" dir=\"auto\">{}</p>\n", html(text))).collect();
    let rest = format!("{strong}<p dir=\"auto\">{}</p>\n", html(&told.no_other_allergens));
    let mut out = section(&language.allergens.heading, "", &rest);
    if let Some((heading, rows)) = &told.hidden {
        out += &section(heading, "", &format!("<ul class=\"count\">\n{}</ul>\n", each("li", rows)));
    }
    out += &section(&language.note.heading, "", &each("p", &told.notes));
    out + &format!("<p class=\"signature\">{}</p>\n", html(&language.page.signature))
}

/// The files that show the cake in a room.
pub(super) fn files([glb, usdz]: &[String; 2], words: &ShareWords) -> String {
    let link = |name: &str| format!("<a href=\"{0}\" download>{0}</a>", html(name));
    // The places are filled in once the sentence round them is escaped.
    let told = filled(&html(&words.room_files), &[("glb", &link(glb)), ("usdz", &link(usdz))]);
    section(
        &words.room,
        "room",
        &format!("<p>{told}</p>\n<p class=\"soft\">{}</p>\n", html(&words.room_note)),
    )
}

/// Which page it is, and whom to ask.
pub(super) fn foot(mark: &str, told: &ClientText, quote: &Quote, words: &ShareWords) -> String {
    let maker =
        quote.maker.name.iter().chain(&quote.maker.address).map(|line| html(line)).collect::<Vec<_>>();
    let maker = match maker.is_empty() {
        true => String::new(),
        false => format!("<p dir=\"auto\">{}</p>\n", maker.join(" · ")),
    };
    let marked = html(&filled(&words.marked, &[("mark", mark)]));
    format!("<footer>\n{maker}<p>{marked} · {}</p>\n</footer>\n", html(&told.dated))
}
