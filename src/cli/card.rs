//! `card`: the scale card that `trace` measures photographs by.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::{
    error::CliError,
    run::{Outcome, print},
};
use cakefile::schema::PaperSize;
use formats::export::{pdf::pdf, svg::svg, write_atomic};
use make::scale_card;

/// Flags of `card`.
#[derive(Debug, Args)]
#[command(after_help = "Example: crumbline card card.pdf --paper letter\n\
                        Print it at 100 %, lay it flat beside a template, photograph both, then:\n\
                        crumbline trace photograph.jpg template.svg")]
pub struct CardArgs {
    /// The file to write: .pdf to print, .svg for drawing programs.
    pub file: PathBuf,
    /// Size of the paper.
    #[arg(long, value_name = "SIZE", default_value = "a4", ignore_case = true)]
    pub paper: CardPaper,
}

/// A size of paper that the card is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CardPaper {
    /// 210 × 297 mm.
    A4,
    /// 8.5 × 11 in.
    Letter,
}

impl From<CardPaper> for PaperSize {
    fn from(paper: CardPaper) -> Self {
        match paper {
            CardPaper::A4 => Self::A4,
            CardPaper::Letter => Self::Letter,
        }
    }
}

/// Writes the card.
pub(super) fn card(args: &CardArgs) -> Result<Outcome, CliError> {
    let page = scale_card::page(args.paper.into());
    let ending = args.file.extension().unwrap_or_default().to_ascii_lowercase();
    let bytes = match ending.to_str() {
        Some("pdf") => pdf(scale_card::TITLE, &[page]).map_err(make::sheets::SheetError::from)?,
        Some("svg") => svg(scale_card::TITLE, &page).into_bytes(),
        _ => {
            return Err(CliError::Usage {
                what: format!("{} is no name for a card", args.file.display()),
                fix: "let it end in .pdf or .svg".into(),
            });
        }
    };
    write_atomic(&args.file, |w| w.write_all(&bytes))?;
    print(&format!(
        "Wrote {}\nPrint it at 100 % and measure its bars: 100 mm and 6 in. Not for bare food.\nNext: crumbline trace \
         PICTURE OUT.svg, with the card in the picture\n",
        args.file.display()
    ))
}
