//! Tables for spreadsheets: CSV as RFC 4180 has it. Figures have a decimal point whatever the locale.

use formats::escape;

/// A table that is written row by row.
pub struct Spreadsheet(csv::Writer<Vec<u8>>);

impl Spreadsheet {
    /// A table with these names of its columns.
    ///
    /// # Errors
    /// When the writer fails, which memory does not.
    pub fn new<const N: usize>(head: [&str; N]) -> Result<Self, csv::Error> {
        let mut table = Self(csv::Writer::from_writer(Vec::new()));
        table.row(head)?;
        Ok(table)
    }

    /// Adds a row with as many cells as there are columns. No cell is taken for a formula by a spreadsheet.
    ///
    /// # Errors
    /// When the writer fails, which memory does not, or there are more or fewer cells.
    pub fn row<S: AsRef<str>>(&mut self, cells: impl IntoIterator<Item = S>) -> Result<(), csv::Error> {
        for cell in cells {
            self.0.write_field(escape::cell(cell.as_ref()).as_bytes())?;
        }
        self.0.write_record(None::<&[u8]>)
    }

    /// The bytes of the file.
    ///
    /// # Errors
    /// When the writer fails, which memory does not.
    pub fn bytes(self) -> Result<Vec<u8>, csv::Error> {
        self.0.into_inner().map_err(|error| error.into_error().into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_cell_is_run() {
        let mut table = Spreadsheet::new(["a", "b", "c"]).unwrap();
        table.row(["=HYPERLINK(\"http://x\")", "-12.05", "@SUM(A1)"]).unwrap();
        table.row(["+1+cmd|' /C calc'!A0", "\t=1", "-1-1"]).unwrap();
        table.row(["a=b", "-", "1.2.3"]).unwrap();
        let bytes = table.bytes().unwrap();
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let rows: Vec<Vec<String>> =
            reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
        assert_eq!(rows[0], ["'=HYPERLINK(\"http://x\")", "-12.05", "'@SUM(A1)"]);
        assert_eq!(rows[1], ["'+1+cmd|' /C calc'!A0", " =1", "'-1-1"]);
        assert_eq!(rows[2], ["a=b", "'-", "1.2.3"]);
    }
}
