//! Pages as poppler prints them.

use std::{path::Path, process::Command};

use make::sheets::SheetFile;

/// Pixels to the millimetre: 254 dots to the inch.
pub const PER_MM: f64 = 10.0;

/// What a tool of poppler prints; `None` where it is not installed.
///
/// # Panics
/// When it is not installed and `CRUMBLINE_REQUIRE_REFERENCE` is 1, or it fails.
pub fn poppler(tool: &str, options: &[&str], file: &SheetFile) -> Option<Vec<u8>> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.pdf");
    std::fs::write(&path, &file.bytes).unwrap();
    // pdftotext prints only if it is told to.
    let last: &[&Path] = if tool == "pdftotext" { &[&path, Path::new("-")] } else { &[&path] };
    let output = match Command::new(tool).args(options).args(last).output() {
        Ok(output) => output,
        Err(_) => {
            let required = std::env::var("CRUMBLINE_REQUIRE_REFERENCE").is_ok_and(|value| value == "1");
            assert!(!required, "no {tool}: install poppler-utils");
            println!("skipped: no {tool}; install poppler-utils");
            return None;
        }
    };
    assert!(output.status.success(), "{tool}: {}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty(), "{tool} on {}: {}", file.name, String::from_utf8_lossy(&output.stderr));
    Some(output.stdout)
}

/// What poppler prints as text.
pub fn text(tool: &str, options: &[&str], file: &SheetFile) -> Option<String> {
    poppler(tool, options, file).map(|bytes| String::from_utf8(bytes).unwrap())
}

/// A page in grey, a tenth of a millimetre a pixel.
pub struct Raster {
    pub wide: usize,
    pub high: usize,
    pixels: Vec<u8>,
}

impl Raster {
    /// Page `number`, from 1, of a PDF.
    pub fn page(file: &SheetFile, number: usize) -> Option<Self> {
        let number = number.to_string();
        let options = ["-r", "254", "-gray", "-f", &number, "-l", &number];
        poppler("pdftoppm", &options, file).map(|bytes| Self::read(&bytes))
    }

    /// A binary PGM (netpbm).
    fn read(bytes: &[u8]) -> Self {
        let mut at = 0;
        let mut word = || {
            let start = at + bytes[at..].iter().position(|b| !b.is_ascii_whitespace()).unwrap();
            let end = start + bytes[start..].iter().position(u8::is_ascii_whitespace).unwrap();
            at = end;
            String::from_utf8(bytes[start..end].to_vec()).unwrap()
        };
        assert_eq!(word(), "P5");
        let (wide, high) = (word().parse().unwrap(), word().parse().unwrap());
        assert_eq!(word(), "255");
        Self { wide, high, pixels: bytes[at + 1..][..wide * high].to_vec() }
    }

    pub fn at(&self, x: usize, y: usize) -> u8 {
        self.pixels[y * self.wide + x]
    }

    fn is_dark(&self, x: usize, y: usize) -> bool {
        self.at(x, y) < 128
    }

    /// Lengths of dark stretches in a row, pixels.
    pub fn dark_runs(&self, y: usize) -> Vec<usize> {
        let row: Vec<bool> = (0..self.wide).map(|x| self.is_dark(x, y)).collect();
        row.chunk_by(|a, b| a == b).filter(|run| run[0]).map(<[bool]>::len).collect()
    }

    /// The largest thing on the page with everything inside it: what white does not reach from the corner, by
    /// the largest piece. For each row the number of its pixels and its first and last.
    pub fn largest_shape(&self) -> Vec<(usize, usize, usize)> {
        const OUTSIDE: u32 = u32::MAX;
        let mut label = vec![0_u32; self.wide * self.high];
        self.flood(&mut label, 0, OUTSIDE, |pixel| pixel >= 128);
        let mut largest = (0, 0);
        let mut next = 1;
        for start in 0..label.len() {
            if label[start] == 0 {
                let size = self.flood(&mut label, start, next, |_| true);
                largest = largest.max((size, next));
                next += 1;
            }
        }
        (0..self.high)
            .filter_map(|y| {
                let inside = (0..self.wide).filter(|x| label[y * self.wide + x] == largest.1);
                let (first, last) = (inside.clone().next()?, inside.clone().next_back()?);
                Some((inside.count(), first, last))
            })
            .collect()
    }

    /// Labels what can be reached from `start` through unlabelled pixels that `open` lets through.
    fn flood(&self, label: &mut [u32], start: usize, with: u32, open: impl Fn(u8) -> bool) -> usize {
        let mut size = 0;
        let mut stack = vec![start];
        while let Some(i) = stack.pop() {
            if label[i] != 0 || !open(self.pixels[i]) {
                continue;
            }
            label[i] = with;
            size += 1;
            let (x, y) = (i % self.wide, i / self.wide);
            stack.extend((x > 0).then(|| i - 1));
            stack.extend((x + 1 < self.wide).then(|| i + 1));
            stack.extend((y > 0).then(|| i - self.wide));
            stack.extend((y + 1 < self.high).then(|| i + self.wide));
        }
        size
    }
}
