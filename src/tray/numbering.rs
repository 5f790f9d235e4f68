//! Numbers in reading order.

use super::parts::FoundPart;

/// Numbers parts in reading order: rows from above, each from the left. A row holds what begins above the middle of
/// its first part's height.
pub(super) fn number(parts: &mut Vec<FoundPart>) {
    let mut heights: Vec<f64> = parts.iter().map(height_of).collect();
    heights.sort_by(f64::total_cmp);
    let typical = heights.get(heights.len() / 2).copied().unwrap_or(0.0);
    parts.sort_by(|a, b| a.centre[1].total_cmp(&b.centre[1]));
    let mut rows: Vec<Vec<FoundPart>> = Vec::new();
    let mut row_top = f64::NEG_INFINITY;
    for part in parts.drain(..) {
        if part.centre[1] > row_top + 0.6 * typical {
            row_top = part.centre[1];
            rows.push(Vec::new());
        }
        if let Some(row) = rows.last_mut() {
            row.push(part);
        }
    }
    for row in &mut rows {
        row.sort_by(|a, b| a.centre[0].total_cmp(&b.centre[0]));
    }
    *parts = rows.into_iter().flatten().collect();
    for (n, part) in parts.iter_mut().enumerate() {
        part.number = n + 1;
    }
}

fn height_of(part: &FoundPart) -> f64 {
    let ys = || part.outline.iter().map(|p| p[1]);
    ys().fold(f64::NEG_INFINITY, f64::max) - ys().fold(f64::INFINITY, f64::min)
}
