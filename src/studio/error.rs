//! What can go wrong between a model and a picture.

use std::path::PathBuf;

/// Why there is no picture or no window.
#[derive(Debug, thiserror::Error)]
pub enum ViewerError {
    /// No graphics driver, not even one that draws on the processor.
    #[error(
        "no graphics driver was found, so there is nothing to draw with ({reason})\n\
         Install one: on Debian or Ubuntu `apt install mesa-vulkan-drivers`, on Fedora \
         `dnf install mesa-vulkan-drivers`; that one draws on the processor and needs no graphics card.\n\
         Commands that need no driver still work: plan, kit, export, solids, new and schema."
    )]
    NoDriver {
        /// What the graphics library said.
        reason: String,
    },
    /// There is no screen to open a window on.
    #[error(
        "there is no screen to open a window on ({reason})\n\
         Run this from a desktop session, or use `picture`, which draws to a file and needs no screen."
    )]
    NoScreen {
        /// What is missing.
        reason: String,
    },
    /// There is a driver, but it does not do what drawing needs.
    #[error(
        "the graphics driver \"{driver}\" refused to draw ({reason})\n\
         Update it, or draw on the processor instead: install Mesa's software driver (on Debian or Ubuntu \
         `apt install mesa-vulkan-drivers`) and point VK_DRIVER_FILES at its lvp_icd file.\n\
         Commands that need no driver still work: plan, kit, export, solids, new and schema."
    )]
    Refused {
        /// Name of the driver.
        driver: String,
        /// What it said.
        reason: String,
    },
    /// An option lies outside what can be drawn.
    #[error("{what} is {given}; {fix}")]
    Option {
        /// The option.
        what: &'static str,
        /// What was asked for.
        given: String,
        /// What to ask for instead.
        fix: String,
    },
    /// Every part of the cake that the stage would show is switched off.
    #[error("nothing is shown: all parts are switched off")]
    AllHidden,
    /// The work was asked to stop; its result is not wanted any more.
    #[error(transparent)]
    Cancelled(#[from] geom::Cancelled),
    /// The model holds nothing to show at this stage.
    #[error("there is nothing to show at the stage \"{stage}\": the cake has no {missing}")]
    Empty {
        /// The stage asked for.
        stage: String,
        /// What that stage would show.
        missing: &'static str,
    },
    /// A part could not be cut for a section.
    #[error("the part \"{part}\" could not be cut: {reason}")]
    Cut {
        /// Name of the part.
        part: String,
        /// What the kernel said.
        reason: String,
    },
    /// The graphics driver stopped drawing.
    #[error(
        "the graphics driver stopped drawing: {0}\n\
         Update it, or try a smaller size or a coarser `accuracy` in the cake file.\n\
         Commands that need no driver still work: plan, kit, export, solids, new and schema."
    )]
    Driver(String),
    /// The picture was not ready in time.
    #[error("the picture was not ready after {seconds} seconds ({waiting}); try a smaller size")]
    Slow {
        /// How long was waited.
        seconds: u64,
        /// What was still missing.
        waiting: String,
    },
    /// A picture file could not be written.
    #[error("cannot write {}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A picture could not be encoded.
    #[error("cannot encode the picture")]
    Encode(#[from] image::ImageError),
}
