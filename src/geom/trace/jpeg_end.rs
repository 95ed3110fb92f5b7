//! Whether a JPEG file is complete: its end marker is there.
//!
//! Source: ITU-T T.81 (JPEG), Annex B: segments begin with FF and a code; all but SOI, EOI, RST and TEM
//! carry a length; in scans FF is followed by 00 or a restart code unless a new segment begins.

/// Whether the end marker comes where the segments and scans of `bytes` lead to. What comes after it is not
/// looked at.
pub(super) fn is_complete(bytes: &[u8]) -> bool {
    const START_OF_SCAN: u8 = 0xda;
    const END: u8 = 0xd9;
    let mut at = 2;
    loop {
        let Some(marker) = next_marker(bytes, at) else { return false };
        match bytes[marker + 1] {
            END => return true,
            0x01 | 0xd0..=0xd8 => at = marker + 2,
            code => {
                let Some(length) = bytes.get(marker + 2..marker + 4) else { return false };
                let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
                at = marker + 2 + length.max(2);
                if code == START_OF_SCAN {
                    match end_of_scan(bytes, at) {
                        Some(end) => at = end,
                        None => return false,
                    }
                }
            }
        }
    }
}

/// Position of the next marker, at or after `from`.
fn next_marker(bytes: &[u8], from: usize) -> Option<usize> {
    let pairs = bytes.get(from..)?.windows(2);
    pairs.into_iter().position(|pair| pair[0] == 0xff && !matches!(pair[1], 0x00 | 0xff)).map(|at| from + at)
}

/// Position of the segment after the scan that starts at `from`.
fn end_of_scan(bytes: &[u8], from: usize) -> Option<usize> {
    let mut at = from;
    loop {
        at = next_marker(bytes, at)?;
        if !matches!(bytes[at + 1], 0xd0..=0xd7) {
            return Some(at);
        }
        at += 2;
    }
}
