//! Few nodes in place of many: Gauss quadrature of a discrete distribution.

use nalgebra::{DMatrix, SymmetricEigen};

/// Values with weights → at most `nodes` values with weights of the same sum and the same moments up to the
/// (2 `nodes` − 1)th. All nodes lie between the least and the largest value; weights are positive.
///
/// The recurrence of the orthogonal polynomials by the Stieltjes procedure (W. Gautschi, "Orthogonal
/// Polynomials", 2004, section 2.2.3.1), the nodes from their Jacobi matrix (G. H. Golub and J. H. Welsch,
/// "Calculation of Gauss quadrature rules", Mathematics of Computation 23:221-230, 1969). Weights that are not
/// positive count as nothing; without any there are no nodes.
pub fn gauss_nodes(points: &[(f64, f64)], nodes: usize) -> Vec<(f64, f64)> {
    let all: f64 = points.iter().map(|(_, weight)| weight.max(0.0)).sum();
    if !(all > 0.0 && all.is_finite()) {
        return Vec::new();
    }
    let total = |of: &dyn Fn(usize) -> f64| -> f64 {
        points.iter().enumerate().map(|(i, (_, weight))| weight.max(0.0) / all * of(i)).sum()
    };
    let spread = points.iter().map(|(value, _)| value.abs()).fold(0.0, f64::max);
    // Orthonormal polynomials at every point: the one before and the newest.
    let (mut before, mut newest) = (vec![0.0; points.len()], vec![1.0; points.len()]);
    let (mut middles, mut steps) = (Vec::new(), Vec::new());
    for _ in 0..nodes {
        let middle = total(&|i| points[i].0 * newest[i] * newest[i]);
        middles.push(middle);
        let step_before = steps.last().copied().unwrap_or(0.0);
        let next: Vec<f64> =
            (0..points.len()).map(|i| (points[i].0 - middle) * newest[i] - step_before * before[i]).collect();
        let step = total(&|i| next[i] * next[i]).sqrt();
        // As many nodes as there are different values.
        if !(step > 1e-9 * spread) {
            break;
        }
        before = newest;
        newest = next.iter().map(|v| v / step).collect();
        steps.push(step);
    }
    let size = middles.len();
    let jacobi = DMatrix::from_fn(size, size, |i, j| match i.abs_diff(j) {
        0 => middles[i],
        1 => steps[i.min(j)],
        _ => 0.0,
    });
    let eigen = SymmetricEigen::new(jacobi);
    (0..size)
        .map(|i| (eigen.eigenvalues[i], all * eigen.eigenvectors[(0, i)] * eigen.eigenvectors[(0, i)]))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gauss–Legendre nodes and weights on −1..1 (Abramowitz and Stegun, "Handbook of Mathematical Functions",
    /// table 25.4), found from 20 000 evenly spread points.
    #[test]
    fn an_even_distribution_gives_the_legendre_nodes() {
        let n = 20_000;
        let points: Vec<(f64, f64)> =
            (0..n).map(|i| (2.0 * (i as f64 + 0.5) / n as f64 - 1.0, 2.0 / n as f64)).collect();
        let sorted = |nodes| {
            let mut found = gauss_nodes(&points, nodes);
            found.sort_by(|p, q| p.0.total_cmp(&q.0));
            found
        };
        for (found, (node, weight)) in
            sorted(3).iter().zip([(-0.774_596_669_2, 0.555_555_555_6), (0.0, 0.888_888_888_9)])
        {
            assert!((found.0 - node).abs() < 1e-7 && (found.1 - weight).abs() < 1e-7, "{found:?}");
        }
        for (found, (node, weight)) in
            sorted(4).iter().zip([(-0.861_136_311_6, 0.347_854_845_1), (-0.339_981_043_6, 0.652_145_154_9)])
        {
            assert!((found.0 - node).abs() < 1e-7 && (found.1 - weight).abs() < 1e-7, "{found:?}");
        }
    }

    #[test]
    fn moments_are_kept_and_few_values_stay_as_they_are() {
        let points = [(0.3, 0.2), (0.9, 0.5), (2.0, 0.2), (7.0, 0.1)];
        let moment =
            |points: &[(f64, f64)], power| points.iter().map(|(v, w)| w * v.powi(power)).sum::<f64>();
        let nodes = gauss_nodes(&points, 2);
        for power in 0..4 {
            assert!((moment(&nodes, power) / moment(&points, power) - 1.0).abs() < 1e-9, "{power} {nodes:?}");
        }
        assert_eq!(gauss_nodes(&points, 9).len(), 4);
        assert_eq!(gauss_nodes(&[(2.0, 1.0), (2.0, 3.0)], 3), [(2.0, 4.0)]);
        assert!(gauss_nodes(&[], 2).is_empty() && gauss_nodes(&[(1.0, 0.0)], 2).is_empty());
    }
}
