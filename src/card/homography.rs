//! A plane seen in perspective: millimetres on the card ↔ pixels of a picture.

use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

/// A projective map of the plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homography(Matrix3<f64>);

impl Homography {
    /// The map that takes each first point nearest to its second, in the sense of the normalised direct linear
    /// transform (Hartley and Zisserman, Multiple View Geometry, 2nd ed., algorithm 4.2); at least four pairs, no
    /// three of the first points on a line. `None` where they do not determine it.
    pub fn through(pairs: &[([f64; 2], [f64; 2])]) -> Option<Self> {
        if pairs.len() < 4 {
            return None;
        }
        let from = normaliser(pairs.iter().map(|pair| pair.0))?;
        let to = normaliser(pairs.iter().map(|pair| pair.1))?;
        let mut normal = SMatrix::<f64, 9, 9>::zeros();
        for (p, q) in pairs {
            let a = from * Vector3::new(p[0], p[1], 1.0);
            let b = to * Vector3::new(q[0], q[1], 1.0);
            let (x, y) = (b[0], b[1]);
            let rows = [
                [a[0], a[1], 1.0, 0.0, 0.0, 0.0, -x * a[0], -x * a[1], -x],
                [0.0, 0.0, 0.0, a[0], a[1], 1.0, -y * a[0], -y * a[1], -y],
            ];
            for row in rows {
                let row = SVector::<f64, 9>::from(row);
                normal += row * row.transpose();
            }
        }
        let eigen = normal.symmetric_eigen();
        let least = eigen.eigenvalues.imin();
        let h = eigen.eigenvectors.column(least);
        let inner = Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], h[8]);
        let map = to.try_inverse()? * inner * from;
        let scale = map[(2, 2)];
        (scale.abs() > 1e-12 && map.iter().all(|v| v.is_finite())).then(|| Self(map / scale))
    }

    /// Where a point comes to lie.
    pub fn map(&self, point: [f64; 2]) -> [f64; 2] {
        let q = self.0 * Vector3::new(point[0], point[1], 1.0);
        [q[0] / q[2], q[1] / q[2]]
    }

    /// The way back.
    pub fn inverse(&self) -> Option<Self> {
        self.0.try_inverse().map(Self)
    }

    /// The map as rows, as files keep it.
    pub fn rows(&self) -> [[f64; 3]; 3] {
        [0, 1, 2].map(|row| [0, 1, 2].map(|column| self.0[(row, column)]))
    }

    /// The inverse of [`Homography::rows`].
    pub fn of_rows(rows: &[[f64; 3]; 3]) -> Self {
        Self(Matrix3::from_fn(|row, column| rows[row][column]))
    }

    /// The same map to pixels `factor` times as small.
    pub fn scaled(&self, factor: f64) -> Self {
        Self(Matrix3::new(factor, 0.0, 0.0, 0.0, factor, 0.0, 0.0, 0.0, 1.0) * self.0)
    }

    /// How much larger an area becomes at a point; negative where the plane is seen from behind.
    pub fn area_scale(&self, point: [f64; 2]) -> f64 {
        let w = self.0[(2, 0)] * point[0] + self.0[(2, 1)] * point[1] + self.0[(2, 2)];
        self.0.determinant() / (w * w * w)
    }
}

/// Moves the centre to the origin and the mean distance to √2.
fn normaliser(points: impl Iterator<Item = [f64; 2]> + Clone) -> Option<Matrix3<f64>> {
    let n = points.clone().count() as f64;
    let [cx, cy] = [0, 1].map(|axis| points.clone().map(|p| p[axis]).sum::<f64>() / n);
    let mean = points.map(|p| libm::hypot(p[0] - cx, p[1] - cy)).sum::<f64>() / n;
    let s = std::f64::consts::SQRT_2 / mean;
    s.is_finite().then(|| Matrix3::new(s, 0.0, -s * cx, 0.0, s, -s * cy, 0.0, 0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_known_map_is_found_again() {
        let truth = Homography(Matrix3::new(3.0, 0.4, 20.0, -0.3, 2.5, 30.0, 0.002, -0.001, 1.0));
        let points = [[0.0, 0.0], [130.0, 0.0], [130.0, 46.0], [0.0, 46.0], [50.0, 20.0]];
        let pairs = points.map(|p| (p, truth.map(p)));
        let found = Homography::through(&pairs).unwrap();
        let back = found.inverse().unwrap();
        for p in [[10.0, 40.0], [90.0, 5.0]] {
            let (q, r) = (truth.map(p), found.map(p));
            assert!((q[0] - r[0]).abs() < 1e-6 && (q[1] - r[1]).abs() < 1e-6);
            let home = back.map(r);
            assert!((home[0] - p[0]).abs() < 1e-6 && (home[1] - p[1]).abs() < 1e-6);
        }
        // Area by the shoelace formula over a small square.
        let at = [60.0, 20.0];
        let corner = |dx: f64, dy: f64| truth.map([at[0] + dx * 1e-4, at[1] + dy * 1e-4]);
        let [a, b, c, d] = [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
        let twice = (c[0] - a[0]) * (d[1] - b[1]) - (d[0] - b[0]) * (c[1] - a[1]);
        assert!((truth.area_scale(at) - twice / 2.0 / 4e-8).abs() < 1e-4);
    }

    #[test]
    fn points_on_a_line_give_no_card() {
        let pairs = [0.0, 1.0, 2.0, 3.0].map(|v| ([v, v], [v, v]));
        // Whatever comes out of a degenerate set must not be taken for a map that turns areas over.
        assert!(Homography::through(&pairs[..3]).is_none());
        assert!(Homography::through(&[pairs[0]; 5]).is_none());
    }
}
