//! Outlines of a region without some of their edges.

use glam::DVec2;

use super::Region;

impl Region {
    /// Its outlines, each in one piece after the other, without the edges that `left_out` names by their ends: as open
    /// lines that run on in the direction of the outline. An outline without such edges comes whole, closed.
    pub fn lines_without(&self, left_out: impl Fn(DVec2, DVec2) -> bool) -> Vec<Vec<DVec2>> {
        let mut lines = Vec::new();
        for contour in self.contours() {
            let n = contour.len();
            let edge = |i: usize| (contour[i % n], contour[(i + 1) % n]);
            let out = |i: usize| left_out(edge(i).0, edge(i).1);
            // Begin after an edge that is left out, or anywhere on a whole outline.
            let start = (0..n).find(|&i| out(i) && !out(i + 1)).map_or(0, |i| i + 1);
            let mut line: Vec<DVec2> = Vec::new();
            for i in start..start + n {
                if out(i) {
                    if !line.is_empty() {
                        lines.push(std::mem::take(&mut line));
                    }
                    continue;
                }
                if line.is_empty() {
                    line.push(edge(i).0);
                }
                line.push(edge(i).1);
            }
            if !line.is_empty() {
                lines.push(line);
            }
        }
        lines
    }

    /// Length of all its outlines.
    pub fn perimeter(&self) -> f64 {
        self.edges().map(|(a, b)| a.distance(b)).sum()
    }
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;

    #[test]
    fn a_rectangle_without_its_foot_is_one_line_round_it() {
        let region = Region::rectangle(dvec2(0.0, 0.0), dvec2(60.0, 40.0));
        let lines = region.lines_without(|a, b| a.y == 0.0 && b.y == 0.0);
        assert_eq!(lines, [[(60.0, 0.0), (60.0, 40.0), (0.0, 40.0), (0.0, 0.0)].map(|(x, y)| dvec2(x, y))]);
        assert_eq!(region.perimeter(), 200.0);
        assert_eq!(region.lines_without(|_, _| false)[0].len(), 5);
    }
}
