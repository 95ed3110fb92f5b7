//! The maker's colours and logo on what the client sees: the page, the picture sheet and the quote.
//!
//! Whatever the colours are, letters on them can be read: on either they are black or white, and letters in the accent on the
//! ground are made darker or lighter where they have to be, which [`MakerLook::remark`] tells.

mod logo;
mod vector;

use std::sync::Arc;

use image::RgbaImage;

use cakefile::{
    CakeFile, CakeFileError, Diagnostic, FieldPath,
    world::{Beside, Content},
};
use formats::{
    colour::{LEAST_CONTRAST, contrast, ink_on, legible, mixed},
    model::Rgb,
};
use plan::{
    Source,
    pantry::{LogoFile, Maker},
};

pub use logo::{LOGO_ROOM, LogoError, logo, within};

/// The colours and the logo of what a client is given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MakerLook {
    /// Bands, buttons and headings.
    pub accent: Rgb,
    /// What everything lies on.
    pub ground: Rgb,
    /// The logo, see-through where nothing is.
    pub logo: Option<Arc<RgbaImage>>,
    /// Whether the ground is the maker's own.
    pub owns_ground: bool,
    /// Whether the accent is.
    pub owns_accent: bool,
}

impl Default for MakerLook {
    fn default() -> Self {
        Self::of_colours(None, None)
    }
}

/// What is still open in an order, before it is made legible on its ground.
const CAUTION: Rgb = Rgb(0x8a, 0x3a, 0x12);

impl MakerLook {
    /// The look of `maker`, whose logo lies beside the file of `source` that names it, the cake file or the pantry.
    ///
    /// # Errors
    /// A logo that cannot be shown, told at its place in that file.
    pub fn of(source: &Source, maker: &Maker) -> Result<Self, CakeFileError> {
        let logo = maker.logo.as_ref().map(|file| read_logo(source, file)).transpose()?;
        Ok(Self { logo, ..Self::of_colours(maker.accent, maker.ground) })
    }

    /// The look with these colours, where they are given, and no logo.
    pub fn of_colours(accent: Option<Rgb>, ground: Option<Rgb>) -> Self {
        Self {
            accent: accent.unwrap_or(Rgb(0x6a, 0x3a, 0x52)),
            ground: ground.unwrap_or(Rgb(0xfb, 0xf9, 0xf6)),
            logo: None,
            owns_ground: ground.is_some(),
            owns_accent: accent.is_some(),
        }
    }

    /// What was done so that letters in the accent can be read on the ground, in a sentence; nothing where they can be as it
    /// is.
    pub fn remark(&self) -> Option<String> {
        let has = contrast(self.accent, self.ground).min(contrast(self.accent, self.stage()));
        let hex = |Rgb(r, g, b): Rgb| format!("#{r:02x}{g:02x}{b:02x}");
        (has < LEAST_CONTRAST).then(|| {
            format!(
                "the maker's accent {} on the ground {} has a contrast of {has:.1}, and letters need {LEAST_CONTRAST} (WCAG 2.2): \
                 letters in the accent are written in {}, bands and buttons keep it; other colours go under [pantry.maker]",
                hex(self.accent),
                hex(self.ground),
                hex(self.accent_letters())
            )
        })
    }

    /// Letters on the accent: black or white.
    pub fn on_accent(&self) -> Rgb {
        ink_on(self.accent)
    }

    /// Letters on the ground: nearly black or white.
    pub fn ink(&self) -> Rgb {
        self.readable(mixed(self.ground, ink_on(self.ground), 0.86))
    }

    /// Letters on the ground that matter less.
    pub fn soft(&self) -> Rgb {
        self.readable(mixed(self.ground, ink_on(self.ground), 0.62))
    }

    /// Letters on the ground in the accent, or as near to it as can be read there.
    pub fn accent_letters(&self) -> Rgb {
        self.readable(self.accent)
    }

    /// A colour as letters on the ground and on [`Self::stage`].
    fn readable(&self, colour: Rgb) -> Rgb {
        /// Steps on the way.
        const STEPS: u32 = 50;
        let (to, grounds) = (ink_on(self.ground), [self.ground, self.stage()]);
        (0..=STEPS)
            .map(|step| mixed(colour, to, f64::from(step) / f64::from(STEPS)))
            .find(|shade| grounds.iter().all(|ground| contrast(*shade, *ground) >= LEAST_CONTRAST))
            .unwrap_or(to)
    }

    /// Letters on the ground that say what is still open.
    pub fn caution(&self) -> Rgb {
        legible(CAUTION, self.ground)
    }

    /// Behind a picture of the cake: the ground, a little towards its letters, or away from them where they could not be read
    /// otherwise.
    pub fn stage(&self) -> Rgb {
        const SHARE: f64 = 0.055;
        let ink = ink_on(self.ground);
        let towards = mixed(self.ground, ink, SHARE);
        if contrast(ink, towards) >= LEAST_CONTRAST {
            return towards;
        }
        let Rgb(r, g, b) = ink;
        mixed(self.ground, Rgb(255 - r, 255 - g, 255 - b), SHARE)
    }

    /// Thin lines on the ground.
    pub fn line(&self) -> Rgb {
        mixed(self.ground, ink_on(self.ground), 0.15)
    }
}

/// The pixels of a logo.
fn read_logo(source: &Source, file: &LogoFile) -> Result<Arc<RgbaImage>, CakeFileError> {
    let named_in: &CakeFile = file.pantry.as_deref().unwrap_or(&source.cake);
    let is_drawing = file.name.to_lowercase().ends_with(".svg");
    let content = if is_drawing { Content::Drawing } else { Content::Picture };
    let read = Beside::new(&source.world, named_in.folder()).load(&file.name, content);
    read.map_err(LogoError::from).and_then(|read| logo(&read.bytes)).map(Arc::new).map_err(|error| {
        let at = FieldPath::root().key("pantry").key("maker").key("logo");
        named_in.error(vec![Diagnostic::error(at, format!("{}: {error}", file.name)).fix(error.fix())])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whatever_the_colours_letters_can_be_read() {
        let shades = [0, 40, 90, 128, 170, 215, 255];
        let all = || shades.iter().copied();
        let two: Vec<(u8, u8)> = all().flat_map(|r| all().map(move |g| (r, g)).collect::<Vec<_>>()).collect();
        let colours: Vec<Rgb> =
            two.iter().flat_map(|(r, g)| all().map(move |b| Rgb(*r, *g, b)).collect::<Vec<_>>()).collect();
        for (i, ground) in colours.iter().enumerate() {
            let accent = colours[(i * 89 + 17) % colours.len()];
            let look = MakerLook::of_colours(Some(accent), Some(*ground));
            for letters in [look.ink(), look.soft(), look.accent_letters(), look.caution()] {
                assert!(contrast(letters, *ground) >= LEAST_CONTRAST, "{letters:?} on {ground:?}");
            }
            for letters in [look.ink(), look.soft(), look.accent_letters()] {
                assert!(contrast(letters, look.stage()) >= LEAST_CONTRAST, "{letters:?} on {ground:?}");
            }
            assert!(contrast(look.on_accent(), accent) >= LEAST_CONTRAST, "{accent:?}");
            assert_eq!(look.remark().is_some(), look.accent_letters() != accent, "{accent:?} on {ground:?}");
        }
        assert_eq!(MakerLook::default().remark(), None);
    }
}
