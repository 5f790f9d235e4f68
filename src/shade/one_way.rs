//! One-way analysis of variance with a random factor: how much values scatter within groups and how much between.

/// Variance components of one quantity measured several times on each of several objects.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneWay {
    /// Mean square between groups.
    pub between_mean_square: f64,
    /// Mean square within groups.
    pub within_mean_square: f64,
    /// Degrees of freedom between and within.
    pub dof: [f64; 2],
    /// Repeats a group, as unequal groups count (N - Σn²/N) / (k - 1).
    pub repeats: f64,
}

impl OneWay {
    /// Of groups of values. `None` unless there are two groups and some group has two values.
    ///
    /// The expected mean squares are σ²_within and σ²_within + n₀ σ²_between (ANOVA estimators; S. R. Searle, G. Casella,
    /// C. E. McCulloch, "Variance Components", 1992, section 3.6; from memory).
    pub fn of_groups(groups: &[Vec<f64>]) -> Option<Self> {
        let groups: Vec<&Vec<f64>> = groups.iter().filter(|group| !group.is_empty()).collect();
        let count = groups.iter().map(|group| group.len()).sum::<usize>() as f64;
        let k = groups.len() as f64;
        if groups.len() < 2 || count <= k {
            return None;
        }
        let mean_of = |group: &[f64]| group.iter().sum::<f64>() / group.len() as f64;
        let whole = groups.iter().copied().flatten().sum::<f64>() / count;
        let mut between = 0.0;
        let mut within = 0.0;
        for group in &groups {
            let mean = mean_of(group);
            between += group.len() as f64 * (mean - whole) * (mean - whole);
            within += group.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>();
        }
        let squares = groups.iter().map(|group| (group.len() * group.len()) as f64).sum::<f64>();
        Some(Self {
            between_mean_square: between / (k - 1.0),
            within_mean_square: within / (count - k),
            dof: [k - 1.0, count - k],
            repeats: (count - squares / count) / (k - 1.0),
        })
    }

    /// Standard deviation within groups.
    pub fn within_sd(&self) -> f64 {
        self.within_mean_square.sqrt()
    }

    /// Standard deviation between groups; 0 where the groups scatter less than their repeats explain.
    pub fn between_sd(&self) -> f64 {
        ((self.between_mean_square - self.within_mean_square).max(0.0) / self.repeats).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// United States Pharmacopeia 29, general chapter <1010>, "Analytical data: interpretation and treatment", tables 1 and
    /// 2: five runs of three replicates; mean squares 3.550 and 0.102, and the variance of a mean of one run with one
    /// replicate 1.251 (table 3).
    #[test]
    fn the_example_of_the_pharmacopeia() {
        let runs = [
            [100.70, 101.05, 101.15],
            [99.46, 99.37, 99.59],
            [99.96, 100.17, 101.01],
            [101.80, 102.16, 102.44],
            [101.91, 102.00, 101.67],
        ];
        let found = OneWay::of_groups(&runs.map(|run| run.to_vec())).unwrap();
        assert!((found.between_mean_square - 3.550).abs() < 5e-4, "{found:?}");
        assert!((found.within_mean_square - 0.102).abs() < 5e-4, "{found:?}");
        assert!(found.dof == [4.0, 10.0] && (found.repeats - 3.0).abs() < 1e-12);
        let one_run = found.between_sd().powi(2) + found.within_sd().powi(2);
        assert!((one_run - 1.251).abs() < 1e-3, "{one_run}");
        assert!((found.between_mean_square / found.within_mean_square - 34.80).abs() < 0.1);
    }

    /// JCGM 100:2008 (GUM), annex H.5: ten days of five readings each, of which the guide prints day means and standard
    /// deviations (microvolts above 10 V); 57 µV between days, 85 µV within, F = 2.25. Each day is made of five values
    /// with just that mean and standard deviation.
    #[test]
    fn the_example_of_the_guide() {
        let means = [172.0, 116.0, 13.0, 144.0, 106.0, 31.0, 60.0, 125.0, 163.0, 41.0];
        let sds = [60.0, 77.0, 111.0, 101.0, 67.0, 93.0, 80.0, 73.0, 88.0, 86.0];
        let shape: [f64; 5] = [-1.0, -1.0, 0.0, 1.0, 1.0];
        let days: Vec<Vec<f64>> =
            means.iter().zip(sds).map(|(mean, sd)| shape.map(|z| mean + sd * z).to_vec()).collect();
        let found = OneWay::of_groups(&days).unwrap();
        assert!((found.within_sd() - 85.0).abs() < 0.5, "{}", found.within_sd());
        assert!((found.between_sd() - 43.0).abs() < 1.0, "{}", found.between_sd());
        // The guide's 57 µV is the scatter of the day means, which holds a fifth of the variance within.
        assert!(((found.between_mean_square / 5.0).sqrt() - 57.0).abs() < 0.5, "{found:?}");
        assert!((found.between_mean_square / found.within_mean_square - 2.25).abs() < 0.02, "{found:?}");
    }

    #[test]
    fn too_little_gives_nothing_and_quiet_groups_no_negative_variance() {
        assert_eq!(OneWay::of_groups(&[vec![1.0, 2.0]]), None);
        assert_eq!(OneWay::of_groups(&[vec![1.0], vec![2.0]]), None);
        let quiet = OneWay::of_groups(&[vec![1.0, 3.0], vec![3.0, 1.0]]).unwrap();
        assert!(quiet.between_sd() == 0.0 && quiet.within_sd() > 1.0);
    }
}
