//! The words of a language, section by section: a field for every text, so that a page names what it says.

use std::collections::BTreeMap;

use serde::{Deserialize, Deserializer, de};

/// Words with places in braces that are filled in. Their reader is written out here: derived for so many fields it takes the
/// compiler minutes.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($field:ident),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq)]
        #[allow(missing_docs)]
        pub struct $name { $(pub $field: String),+ }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
                let mut texts = BTreeMap::<String, String>::deserialize(reader)?;
                let read = Self::of(&mut texts).map_err(de::Error::custom)?;
                match texts.into_keys().next() {
                    Some(key) => Err(de::Error::custom(format!("there is no text \"{key}\""))),
                    None => Ok(read),
                }
            }
        }

        impl $name {
            fn of(texts: &mut BTreeMap<String, String>) -> Result<Self, String> {
                Ok(Self { $($field: taken(texts, stringify!($field))?),+ })
            }
        }
    };
}

/// The text of a field, which is no longer among the others then.
fn taken(texts: &mut BTreeMap<String, String>, field: &str) -> Result<String, String> {
    let key = field.trim_start_matches("r#");
    texts.remove(key).ok_or_else(|| format!("the text \"{key}\" is missing"))
}

words!(
    /// The client's page.
    PageWords {
        quote, document, incomplete, dated, for_client, delivered, serves, cake, inside, filling, covered, over, zones, details, finished, for_show, board_iced, board_ribbon, signature
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
    /// The page that the client turns the cake on.
    ShareWords {
        alt, turn, making, play, nearer, farther, left, right, baked, carved, coated, finished, outline, sight_front, sight_side, sight_back, choose, size, for_about, for_about_priced, for_about_worked_out, worked_out, as_shown, remarks, want, answer, send, copy, copied, mail, subject, key_cake, key_serves, key_remarks, incomplete, measures, extent, extent_bare, room, room_files, room_note, plain, plain_row, marked, changed, before, now, unchanged, colour_of, sheet_open, sheet_one_scale, sheet_wide, sheet_high, sheet_deep, sheet_plate, sheet_more_hidden, sheet_marked
    }
);
words!(
    /// The first screen.
    FirstWords {
        decide, bake, hidden, r#box, stands, travels, fix_first, decide_first, nothing_open, fix, know, place, likewise, nothing_baked, load, loads, high, nothing_hidden, all_hidden, hidden_row, room, two_people, yes, everywhere, on_the_way, careful, no
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
        chill, ice_board, ribbon, pieces, cut_in_cake, add_on_cake, brush, days_before, days_before_each, band, roll, roll_of, tapering, lay_round, bend, dries, dries_a_day, in_pieces, alike, strands, twist, laid, laid_each, lay_foot, lay_rim, lay_height, lay_upper, lay_lower, lay_border, lay_path, lay_between, at_angle, press_half, joined_at, joints_at, upside_down, moulded, dowel_stands, dowel_goes_in, passes, to_middle, round_outline, round_side, round_below, round_check, straight_outline, straight_cut, straight_check, straight_top, free_outline, free_sides, free_corners, free_check, deep, thick, spread, press, put_on, build_up_at, build_up, cut_in_coat, add_on_coat, finish_care, finish_paint, finish_lustre, finish_pearl, finish_dust, finish_once, finish_coats, finish_fade, finish_show, finish_covering
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
        draped, draped_of, top_and_side, top_and_sides, side, sides, panel, panels, by_hand, cap, band, bands, band_and_cap, bands_and_cap, name_whole, name_top, name_cap, name_side, name_panel, name_band, name_outline, zone, by_outline, inlaid, numbered, across, what, cover, limits, drape, taut, all_round, at_foot, at_height, tuck, trim_foot, by_pattern, rolled, top_first, then_panels, only_panels, then_side, only_side, then_sides, only_sides, one_sheet, sheets, upwards, pattern, patterns, level_at, from_to, cap_laid, band_laid, turned_under, turned_over, rubbed, pleats, pleats_from, gathers, share, about, thins, tears
    }
);
words!(
    /// Whether it stands and travels.
    SteadyWords {
        heading, estimate, bench, carving, venue, car, people, nothing, yes, careful, no, holds_to, keep, cold, scales, tier, raw, carved, finished, above, weighs, carried, levels, board, carries, on, each_dowel, gives_way, tips_at, table, cake, dowel, dowels, in_car, on_the_way, side_force, tipping, sliding, centre_dowel, hidden, hidden_row, not_covered, left_out
    }
);

words!(
    /// What a cake costs to make, for the bench.
    CostWords {
        title, document, heading, open, point, sums, hours, hours_alone, group, what, amount, price, sum, none, ingredients, boards, printing, work, overhead, delivery, plastic, hours_of_work, rent, road, errands, mixing, levelling, supports, stacking, carving, coating, covering, details, finishing, costs, costs_so_far, margin, net, tax, gross, deposit, balance
    }
);
words!(
    /// The plan in figures.
    ReportWords { zone, zone_rest,
        explain, size, layers, layer, material, pan, heights, raw, kept, offcut, share, shortfall, all_sponge, other_layers, span, sheets, sheet, sheet_number, cut_into, baked, in_pieces, left_over, piece_of, pieces_of, between, filling_or_board, thick, spread, mass, board, board_with_hole, depths, deepest, r#where, mean, spare, at, lines, line, height, widest, inside, coat_inside, mass_on_cake, laid, dowels, dowel, cut_to, stands_at, place, all_dowels, details, detail, how, cut_sponge, cut_coating, cut_icing, add_sponge, add_coating, add_icing, totals, raw_mass, holds, outside, beside, densities, yes, careful, no, nothing, weakest, margin, over_99, weights, tier, centre_up, aside, levels, board_first, sponge_alone, one_short, sags, cake_holds, settles, required, widest_circle, trade_circle, least_bending_circle, side_force, joints, with_centre, rules, rule, other_rules, not_covered, finished_line, coated_line, carved_line, under_line
    }
);
words!(
    /// Templates.
    TemplateWords {
        document, silhouettes, layers, details, boards, icing, wraps, front, front_of_cake, up, sheet_of, print_shop, own_sheet, on_sheets, key_finished, key_coated, key_carved, key_added, front_and_side, front_silhouette, side_silhouette, from_above, from_above_size, score, heights, heights_and_details, key_bottom, key_top, key_outermost, key_baked, layer, closes, top_across, layer_round, layer_both, layer_closes, layer_top, reached, bulges, straight, line_to_line, middle_of_round, round_too_small, outermost_only, of_pieces, middle_cross, too_small, key_board, key_dowel_on, key_dowel_under, key_cake, presentation, board_middle, board, hole, hole_missing, dowels_on, dowel_on, dowels_under, dowel_under, key_seen, key_cut, bend, bend_off, press, cut_cake, cut_coating, cut_out, cut_out_of, letters, line_wide, place, top_place, every, front_middle, back_middle, turned_right, turned_left, round_right, round_left, seen, on_middle, right_of_middle, left_of_middle, seen_front, seen_back, seen_right, seen_left, key_outline, key_front, key_edge, strip, lay_strip, lay_strip_free, leans, key_trim, key_allowance, key_middle, of_icing, pattern, half_pattern, copies, panels, short, fold, seen_from_above, panel_numbers, half_note, rectangle, ring, disc, sector, at_height, from_to, panel_place, middle_and_seam, over_lower, over_upper, stretched, eased
    }
);
words!(
    /// Printed parts.
    KitWords {
        title, names, left_out, worth, nothing_worth, group, group_left, takes, takes_cost, cautions, before, fix, not_worth, summary, part, parts, bed, beds, bed_row, scrapers, swing_formers, cradle, combs, ring_gauges, depth_gauges, board_templates, dowel_guides, guide_discs, levelling_rings, foot_mould, cutters, stamps, scraper_does, cards_do, not_turned, carried_on_board, tape_does, templates_check, skewer_does, board_paper, set_square, wire_does, nothing_spread, acetate, straight_scraper, one_turn, silhouettes_check, ruler_does, comb_shows, foot_is_cake, pressed_by_hand, foot_is_cast, nothing_pressed, nothing_cut, round_cutters, rims_press, few_cut, few_pressed, cutters_save, stamps_save, plastic, warm, count_out, pattern, guides, gauges, press_film
    }
);
words!(
    /// The order check.
    CheckWords { clear, one, several, open, note, fix }
);
words!(
    /// The timetable.
    TimeWords {
        heading, begin, done, what, then_wait, waits, described, tight, past, past_fix, late, late_fix, model, board, prepare, bake, bake_at, one_bake, bakes, oven, oven_gas, ganache, cover, press, level, fill, carve, coat, details, finish, r#box, travel, drying, board_drying, cooling, settling, standing, setting, skinning, resting, painted
    }
);
words!(
    /// What to bake, mix and buy.
    AmountWords {
        heading, bakes, bakes_in_one, pan, material, cut_from, batter, by_volume, pieces_of, mixed, mixings, purpose, on_the_cake, make, out_of, icing, rolled, cut, icing_mass, rolls, sausage, supports, board, board_icing, ribbon, hole, touch_food, dowel, stock, all_dowels, offcut, layer, shaved, servings, portion, volume, cutting, rim, tiers, servings_note, buy, what, used, packs, by_weight, pack, several_packs, counted, allergens, no_allergens, undeclared, label, batter_for, firm_for, syrup_for, filling_for, coating_for, icing_for, board_for, details_for, finish_for
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

/// What is said of a rule, in a language that is not the plan's own.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RuleWords {
    /// What it says, without a full stop.
    pub says: String,
    /// Where it comes from, without a full stop.
    pub source: String,
}
