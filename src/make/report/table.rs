//! Plain aligned tables.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

/// Rows under a heading: the first `left` columns to the left, figures to the right; two spaces
/// between columns and before the first.
pub fn table(heading: &[&str], left: usize, rows: Vec<Vec<String>>) -> String {
    let mut table = Table::new();
    table.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
    table.set_header(heading.to_vec());
    table.add_rows(rows);
    for (i, column) in table.column_iter_mut().enumerate() {
        column.set_padding((2, 0));
        column.set_cell_alignment(if i < left { CellAlignment::Left } else { CellAlignment::Right });
    }
    let text = table.to_string();
    text.lines().map(|line| format!("{}\n", line.trim_end())).collect()
}
