//! What the presentation board is dressed with: its icing and its ribbon.

use serde::Serialize;

use formats::model::Rgb;
use plan::{
    Plan,
    design::{Board, FootprintShape, Ribbon},
};

/// Icing and ribbon of the presentation board.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Dressing {
    /// Its icing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub icing: Option<IcedBoard>,
    /// Its ribbon.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ribbon: Option<RibbonCut>,
}

/// Rolled icing over a board.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct IcedBoard {
    /// What it is.
    pub material: String,
    /// Its density, g/mL.
    #[serde(skip)]
    pub density: f64,
    /// Its colour.
    pub colour: Rgb,
    /// How thick it is rolled, mm.
    pub thickness_mm: f64,
    /// Width and depth of the sheet, with the allowance all round.
    pub sheet_mm: [f64; 2],
    /// Whether the sheet is round.
    pub round: bool,
    /// Surface that it covers, cm².
    pub net_cm2: f64,
    /// Mass on the board.
    pub on_board_g: f64,
    /// Mass that is trimmed off, with what goes in rolling.
    pub trimmed_g: f64,
    /// Mass to make.
    pub made_g: f64,
}

/// Ribbon as it is cut.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RibbonCut {
    /// Its colour.
    pub colour: Rgb,
    /// How wide it is.
    pub width_mm: f64,
    /// How long it is, its ends over each other.
    pub length_mm: f64,
    /// How far they are.
    pub overlap_mm: f64,
}

impl Dressing {
    /// That of the board in `plan`.
    pub fn of(plan: &Plan) -> Self {
        let Some(board) = &plan.design.board else { return Self::default() };
        let ribbon = board.ribbon.zip(board.ribbon_length()).map(|(ribbon, length_mm)| RibbonCut {
            colour: ribbon.colour,
            width_mm: ribbon.width,
            length_mm,
            overlap_mm: Ribbon::OVERLAP,
        });
        Self { icing: iced(plan, board), ribbon }
    }
}

fn iced(plan: &Plan, board: &Board) -> Option<IcedBoard> {
    let icing = board.icing.as_ref()?;
    let sheet_mm = board.icing_sheet(plan.design.paper.allowance);
    let round = matches!(board.footprint.shape, FootprintShape::Round { .. });
    let share = if round { std::f64::consts::FRAC_PI_4 } else { 1.0 };
    let grams = |area: f64| icing.material.mass(area * icing.thickness);
    let net = board.footprint.area();
    let (on_board_g, made_g) = (grams(net), grams(share * sheet_mm[0] * sheet_mm[1]));
    let made_g = made_g * (1.0 + plan.pantry.extra.icing);
    Some(IcedBoard {
        material: icing.material.name.clone(),
        density: icing.material.density,
        colour: icing.material.colour,
        thickness_mm: icing.thickness,
        sheet_mm,
        round,
        net_cm2: net / 100.0,
        on_board_g,
        trimmed_g: made_g - on_board_g,
        made_g,
    })
}
