//! The words of a language, section by section: a field for every text, so that a page names what it says.

use serde::Deserialize;

/// Words with places in braces that are filled in.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($field:ident),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
        #[serde(deny_unknown_fields)]
        #[allow(missing_docs)]
        pub struct $name { $(pub $field: String),+ }
    };
}

words!(
    /// The client's page.
    PageWords {
        quote, incomplete, dated, for_client, delivered, serves, cake, inside, filling, covered, over, details, signature
    }
);
words!(
    /// Price and deposit.
    PriceWords { heading, follows, before_tax, gross, deposit, balance, vat }
);
words!(
    /// What is hidden in the cake.
    HiddenWords { heading, row, sized, under, r#in, middle, somewhere }
);
words!(
    /// Allergens.
    AllergenWords { heading, contains, undeclared, none, no_other, no_other_declared, elsewhere, traces }
);
words!(
    /// What the client must know.
    NoteWords { heading, take_out, carry, carry_two, estimate }
);
words!(
    /// The first screen.
    FirstWords {
        decide, bake, hidden, r#box, stands, travels, fix_first, decide_first, nothing_open, fix, know, place, likewise, nothing_baked, load, loads, high, nothing_hidden, all_hidden, hidden_row, room, two_people, yes, everywhere, on_the_way, careful, no, open, rest
    }
);
words!(
    /// Things in the stack.
    ThingWords {
        round, half_ball, square, pieces, piece, turned, aside, to_edge, thick, high, board, filling, dowel, dowels, centre_dowel, on_its_own
    }
);
words!(
    /// Things one after the other.
    JoinWords {
        both, more
    }
);
words!(
    /// Headings of the cutting sheet.
    SheetWords {
        title, front, pieces, steps, depths, steady, page, measured, print_at, glance, stack, what, material, size, from, to, stacked, dowels, dowels_out, care, make, thin, where_to_cut, comes_off, radii, millimetres, centimetres, inches, all_round, passes_by_depth, passes_mean, off_means, more
    }
);
words!(
    /// Dowels, thin places and how far to carve.
    ReachWords {
        height, radius_to_reach, across, off, in_passes, radius, passes, moulded, cast, at_height, all_round, not_carved, none, one, patch, nothing, pass, from_top, top, dowel, dowels, on_board, from_height, neck, wall, no_cake, comes_out, over_dowel, not_turned, turned, straight_down, to_passes, to_pass, shortfall
    }
);
words!(
    /// The cautions.
    CautionWords {
        none_hidden, one_hidden, hidden, dowels, knives, hot, paper, plastic, allergens, heavy, carry, estimate
    }
);
words!(
    /// The steps of the making.
    StepWords {
        chill, pieces, cut_in_cake, add_on_cake, brush, days_before, days_before_each, band, roll, roll_of, tapering, lay_round, bend, upside_down, moulded, dowel_stands, dowel_goes_in, passes, to_middle, round_outline, round_side, round_below, round_check, straight_outline, straight_cut, straight_check, straight_top, free_outline, free_sides, free_corners, free_check, deep, thick, spread, press, put_on, build_up_at, build_up, cut_in_coat, add_on_coat
    }
);
words!(
    /// Sheet cakes cut into pieces.
    PiecesWords {
        heading, measure, letters, split, level, lay, sheet, cut_across, cut_along, turned, cut_scale, laid_scale, sheet_title, layer_title, middles, front
    }
);
words!(
    /// How rolled icing is laid.
    IcingWords {
        draped, draped_of, top_and_side, top_and_sides, side, sides, panel, panels, by_hand, cap, band, bands, band_and_cap, bands_and_cap, name_whole, name_top, name_cap, name_side, name_panel, name_band, numbered, across, what, cover, limits, drape, taut, all_round, at_foot, at_height, tuck, trim_foot, by_pattern, rolled, top_first, then_panels, only_panels, then_side, only_side, then_sides, only_sides, one_sheet, sheets, upwards, pattern, patterns, level_at, from_to, cap_laid, band_laid, turned_under, turned_over, rubbed, pleats, pleats_from, gathers, share, about, thins, tears
    }
);
words!(
    /// Whether it stands and travels.
    SteadyWords {
        heading, estimate, bench, carving, venue, car, people, nothing, yes, careful, no, holds_to, keep, cold, scales, tier, raw, carved, finished, above, weighs, carried, levels, board, carries, on, each_dowel, gives_way, tips_at, table, cake, dowel, dowels, in_car, on_the_way, side_force, tipping, sliding, centre_dowel, hidden, hidden_row, not_covered, left_out
    }
);

/// Directions as seen from above.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SideWords {
    /// The eight ways round a cake, from the front counter-clockwise seen from above, 45° from one to the next.
    pub names: [String; 8],
    /// Between two of them.
    pub between: String,
    /// At one of them.
    pub at: String,
    /// The left side.
    pub left_side: String,
    /// The right side.
    pub right_side: String,
    /// In the middle.
    pub middle: String,
}

/// What is said of one kind of finding, in a language that is not the plan's own.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FindingWords {
    /// What is wrong, or what was checked, without a full stop.
    pub what: String,
    /// How to fix it, without a full stop.
    pub fix: String,
}
