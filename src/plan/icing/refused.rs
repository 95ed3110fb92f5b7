//! Why icing cannot be laid as a cake file asks.

use cakefile::schema::IcingWay;
use geom::units::UnitStyle;

/// Why icing cannot be laid as asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Refused {
    /// A draped sheet hangs free there.
    Undercut {
        /// How far the side goes in below something wider, mm.
        by: f64,
        /// Where, mm.
        height: f64,
    },
    /// A draped sheet hangs across the corner in which a side stands on a step.
    Ledge {
        /// Where, mm.
        height: f64,
    },
    /// A draped sheet hangs across a hole, or across corners that point inwards.
    Hollow,
    /// The cake has no top that a sheet could hang from.
    NoTop,
    /// No flat sheet lies round the side.
    SideCurved,
    /// The side has no corners at which panels could meet.
    NoPanels,
    /// The side is the same at every height and needs no bands.
    NoBands,
}

impl Refused {
    /// What is wrong, in one sentence without a full stop.
    pub fn told(self, style: UnitStyle) -> String {
        match self {
            Self::Undercut { by, height } => format!(
                "no draped sheet lies on it: at height {} the side goes in by {} below something wider",
                style.length_alone(height),
                style.length_alone(by)
            ),
            Self::Ledge { height } => format!(
                "no draped sheet lies on it: it hangs free across the step at height {}",
                style.length_alone(height)
            ),
            Self::Hollow => "no draped sheet lies on it: it hangs free across corners that point inwards, or a hole".into(),
            Self::NoTop => "no draped sheet lies on it: the cake is open in its middle".into(),
            Self::SideCurved => {
                "no flat sheet can be wrapped round its side without tearing or pleats: it curves too much up and down".into()
            }
            Self::NoPanels => "there are no flat sides with corners between them for panels".into(),
            Self::NoBands => "the side is the same at every height: bands would only add seams".into(),
        }
    }
}

/// A way in the words of the trade.
pub fn way_name(way: IcingWay) -> &'static str {
    match way {
        IcingWay::Draped => "draped",
        IcingWay::DiscAndWrap => "disc-and-wrap",
        IcingWay::Panels => "panels",
        IcingWay::Bands => "bands",
    }
}
