//! Distributions, draws, robust centres and decisions against an independent library and published
//! values.

use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

use super::*;

fn near(computed: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((computed - expected).abs() <= tolerance, "{what}: {computed}, expected {expected}");
}

/// Normal, χ² and t quantiles, and the density of the multivariate t, against SciPy 1.17.1.
#[test]
fn distributions_agree_with_scipy() {
    for (p, x) in [
        (1e-10, -6.361340902404056),
        (0.001, -3.090232306167813),
        (0.0749, -1.4402382675279635),
        (0.31, -0.4958503473474533),
        (0.975, 1.959963984540054),
        (0.999999999, 5.997807019601637),
    ] {
        near(normal_quantile(p), x, 1e-9 * x.abs(), "normal quantile");
        near(normal_cdf(x), p, 1e-12, "normal distribution function");
    }
    near(chi_squared_quantile(0.95, 3.0), 7.814727903251179, 1e-8, "χ²");
    near(student_t_quantile(0.975, 16.0), 2.1199052992212546, 1e-8, "t");
    let scale = Matrix3::new(1.0, 0.2, -0.1, 0.2, 0.8, -0.3, -0.1, -0.3, 1.2);
    for (dof, x, density) in [
        (3.0, [1.0, -0.5, 2.0], -5.30929905328845),
        (7.0, [0.0, 0.0, 0.0], -2.563299571625619),
        (1.0, [3.0, 3.0, -3.0], -8.245683704814269),
        (30.0, [0.5, 1.0, 1.0], -4.245372979553777),
    ] {
        let t = StudentT { mean: Vector3::zeros(), scale, dof };
        near(t.log_density(&Vector3::from(x)).unwrap(), density, 1e-10, "density of t");
    }
}

#[test]
fn student_t_as_mixture_keeps_its_density() {
    let scale = Matrix3::new(1.0, 0.2, -0.1, 0.2, 0.8, -0.3, -0.1, -0.3, 1.2);
    for dof in [3.0, 5.0, 10.0, 40.0] {
        let t = StudentT { mean: Vector3::new(40.0, -20.0, 10.0), scale, dof };
        let mixture = t.mixture();
        assert!(mixture.components().len() <= 24, "{} components", mixture.components().len());
        for step in 0..=12 {
            let x = t.mean + Vector3::new(0.0, 0.0, 0.5 * f64::from(step));
            let off = mixture.log_density(&x).unwrap() - t.log_density(&x).unwrap();
            assert!(off.abs() < 0.01, "ν = {dof}, step {step}: {off}");
        }
        let (mean, cov) = mixture.moments();
        assert!((mean - t.mean).amax() < 1e-9);
        let wanted = scale * (dof / (dof - 2.0));
        assert!((cov - wanted).amax() < 0.08 * wanted.amax(), "ν = {dof}: {cov}");
    }
}

/// The three-class discriminant: squared distances, posteriors and typicality of one reading, without
/// and with its measurement covariance, and with class covariances known from 10 specimens each
/// (computed with NumPy and SciPy from the textbook formulas).
#[test]
fn discriminant_of_three_shades() {
    let means =
        [Vector3::new(46.0, -24.0, 24.0), Vector3::new(43.0, -25.0, 22.0), Vector3::new(40.0, -26.0, 20.0)];
    let cov = Matrix3::new(1.0, 0.2, -0.1, 0.2, 0.8, -0.3, -0.1, -0.3, 1.2);
    let priors = [0.4, 0.4, 0.2];
    let x = Vector3::new(42.2, -25.1, 21.0);

    let posterior = |cov: &Matrix3<f64>| {
        let logs = means.map(|m| log_normal_density(&(x - m), cov).unwrap());
        class_probabilities(&logs, &priors)
    };
    let sharp = posterior(&cov);
    let measured = cov + Matrix3::from_diagonal(&Vector3::new(0.5, 0.3, 0.3));
    let blurred = posterior(&measured);
    let of_ten = means.map(|m| StudentT::predictive(m, cov, 10).unwrap().log_density(&x).unwrap());
    let of_ten = class_probabilities(&of_ten, &priors);
    let sharp_distances = [25.8972155, 1.67445521, 6.89479419];
    let blurred_distances = [18.1708, 1.20719, 4.77843];
    for k in 0..3 {
        near(squared_distance(&(x - means[k]), &cov).unwrap(), sharp_distances[k], 1e-6, "d²");
        near(squared_distance(&(x - means[k]), &measured).unwrap(), blurred_distances[k], 1e-4, "d²");
        near(
            1.0 - chi_squared_cdf(sharp_distances[k], 3.0),
            [1.002e-5, 0.642628, 0.0753277][k],
            1e-6,
            "tail",
        );
        near(sharp[k], [5.30167942e-6, 0.964537303, 0.035457395][k], 1e-8, "posterior");
        near(blurred[k], [1.9114e-4, 0.922464, 0.0773453][k], 1e-6, "posterior with measurement");
        near(of_ten[k], [0.00326832, 0.92484195, 0.07188974][k], 1e-7, "posterior of ten specimens");
    }
    near(entropy_bits(&sharp), 0.221162, 1e-6, "entropy");
}

/// Error and reject rates of the optimum rule for two normal classes `d` standard deviations apart, after
/// C. K. Chow, "On optimum recognition error and reject tradeoff", IEEE Transactions on Information
/// Theory 16(1), 1970; the rates themselves are computed here from Φ, to four digits.
#[test]
fn reject_option_of_two_classes() {
    for (d, t, error, reject) in [
        (2.0, 0.5, 0.1587, 0.0),
        (2.0, 0.2, 0.0452, 0.3343),
        (2.0, 0.1, 0.0179, 0.5214),
        (2.0, 0.05, 0.0067, 0.6749),
        (3.0, 0.5, 0.0668, 0.0),
        (3.0, 0.1, 0.0128, 0.2086),
        (3.0, 0.05, 0.0065, 0.2955),
        (4.0, 0.1, 0.0054, 0.0680),
        (4.0, 0.05, 0.0031, 0.1000),
    ] {
        let (mut wrong, mut refused, n) = (0.0, 0.0, 20_000);
        for i in 0..n {
            // Class 0, at its own evenly spaced quantiles; class 1 is its mirror image.
            let x: f64 = normal_quantile((f64::from(i) + 0.5) / f64::from(n));
            let logs = [-0.5 * x * x, -0.5 * (x - d) * (x - d)];
            match accepted_class(&class_probabilities(&logs, &[0.5, 0.5]), 1.0 - t) {
                Some(0) => {}
                Some(_) => wrong += 1.0 / f64::from(n),
                None => refused += 1.0 / f64::from(n),
            }
        }
        near(wrong, error, 1.2e-4, "error rate");
        near(refused, reject, 1.2e-4, "reject rate");
    }
}

/// Ten answers in five bins, worked by hand: 0.4 · 0.15 + 0.3 · 0.04667 + 0.3 · 0.19333 = 0.1320; Brier
/// 0.1981.
#[test]
fn calibration_error_worked_by_hand() {
    let confidences = [0.95, 0.92, 0.88, 0.85, 0.77, 0.72, 0.65, 0.58, 0.55, 0.45];
    let right = [true, true, true, false, true, true, false, true, false, false];
    let answers: Vec<(f64, bool)> = confidences.into_iter().zip(right).collect();
    let (error, table) = calibration_error(&answers, 5);
    near(error, 0.1320, 1e-4, "calibration error");
    assert_eq!(table.iter().map(|b| b.count).collect::<Vec<_>>(), [3, 3, 4]);
    let brier =
        answers.iter().map(|(c, right)| brier_score(&[*c, 1.0 - c], usize::from(!right))).sum::<f64>();
    near(brier / 10.0, 0.1981, 1e-4, "Brier");
}

/// True confidences do not score 0: in each bin the mean of |accuracy - confidence| is that of a
/// half-normal, √(2 p (1 - p) / (π n_b)), to leading order.
#[test]
fn calibration_error_has_its_bias() {
    for n in [300, 1000, 5000] {
        let confidences: Vec<f64> = (0..n).map(|i| 0.5 + 0.5 * (f64::from(i) + 0.5) / f64::from(n)).collect();
        let expected: f64 = (0..5)
            .map(|b| {
                let p = 0.55 + 0.1 * f64::from(b);
                0.2 * (2.0 * p * (1.0 - p) / (std::f64::consts::PI * 0.2 * f64::from(n))).sqrt()
            })
            .sum();
        let (mean, upper) = calibration_error_when_true(&confidences, 10, 400, 1);
        near(mean, expected, 0.06 * expected, "bias");
        assert!(upper > 1.3 * mean && upper < 2.2 * mean, "{mean} {upper}");
    }
}

/// The closed form is equation 21 of Gneiting and Raftery, JASA 102, 2007.
#[test]
fn crps_of_draws_is_that_of_their_law() {
    let mut source = Draws::seeded(3);
    let draws: Vec<f64> = (0..100_000).map(|_| 2.0 + 1.5 * source.normal()).collect();
    for truth in [-1.0, 2.0, 3.3] {
        near(crps_of_draws(&draws, truth), crps_of_normal(2.0, 1.5, truth), 0.015, "CRPS");
    }
    near(crps_of_normal(0.0, 1.0, 0.0), 0.23369497725510913, 1e-12, "CRPS at the centre, (√2 - 1)/√π");
}

#[test]
fn regions_cover_what_they_say() {
    let mut source = Draws::seeded(4);
    let distances: Vec<f64> = (0..40_000).map(|_| source.normals::<3>().norm_squared()).collect();
    for level in [0.5, 0.68, 0.95, 0.99] {
        near(region_coverage(&distances, 3, level), level, 0.008, "coverage");
    }
    let score = log_score(&Vector3::new(1.0, 0.0, 0.0), &Vector3::zeros(), &Matrix3::identity()).unwrap();
    near(score, 0.5 + 1.5 * std::f64::consts::TAU.ln(), 1e-12, "log score");
}

#[test]
fn robust_centre_withstands_a_quarter_of_strangers() {
    let cov = Matrix3::new(4.0, -1.0, 0.5, -1.0, 1.0, 0.2, 0.5, 0.2, 2.0);
    let truth = Vector3::new(45.0, -25.0, 20.0);
    let lower = factor(&cov).unwrap();
    for (share, shift, limit) in [(0.0, 0.0, 0.15), (0.10, 30.0, 0.2), (0.24, 30.0, 0.3), (0.24, 8.0, 0.6)] {
        let mut source = Draws::seeded(9);
        let points: Vec<Vector3<f64>> = (0..2000)
            .map(|i| {
                let strange = f64::from(i) < share * 2000.0;
                let shift =
                    if strange { Vector3::new(shift, 0.3 * shift, -0.5 * shift) } else { Vector3::zeros() };
                truth + lower.spread(&source.normals()) + shift
            })
            .collect();
        let found = robust_centre(&points, None).unwrap();
        let off = (found.centre - truth).norm();
        assert!(off < limit, "{share} by {shift}: centre off by {off}");
        if share == 0.0 {
            assert!((found.scatter - cov).amax() < 0.25, "{}", found.scatter);
            near(found.effective_count, 1950.0, 25.0, "kept");
        }
        // Points counted twice are points with weight 2.
        let weights: Vec<f64> = (0..2000).map(|i| f64::from(1 + i % 2)).collect();
        let twice: Vec<Vector3<f64>> =
            points.iter().enumerate().flat_map(|(i, p)| vec![*p; 1 + i % 2]).collect();
        let weighted = robust_centre(&points, Some(&weights)).unwrap();
        let repeated = robust_centre(&twice, None).unwrap();
        assert!((weighted.centre - repeated.centre).norm() < 0.02);
    }
    assert!(robust_centre(&[truth; 4], None).is_err());
}

#[test]
fn quantiles_and_medians() {
    near(median(&[3.0, 1.0, 2.0]), 2.0, 0.0, "median");
    near(median(&[4.0, 1.0, 2.0, 3.0]), 2.5, 0.0, "median");
    near(
        weighted_quantile(&[1.0, 2.0, 3.0], Some(&[1.0, 1.0, 2.0]), 0.5),
        2.5 - 1.0 / 6.0,
        1e-12,
        "weighted",
    );
    assert!(median(&[]).is_nan() && weighted_quantile(&[1.0], Some(&[0.0]), 0.5).is_nan());
    let mut source = Draws::seeded(5);
    let values: Vec<f64> = (0..20_000).map(|_| 7.0 + 3.0 * source.normal()).collect();
    near(mad(&values), 3.0, 0.08, "scaled median deviation");
    let mut values = values;
    let interval = Interval::of_draws(&mut values).unwrap();
    near(interval.low, 7.0 - 3.0 * 1.96, 0.15, "lower end");
    near(interval.high, 7.0 + 3.0 * 1.96, 0.15, "upper end");
    assert_eq!(Interval::of_draws(&mut []), None);
}

#[test]
fn spread_normals_are_white_and_smooth() {
    let columns = spread_normals::<3>(512, 1);
    let mean = columns.iter().sum::<Vector3<f64>>() / 512.0;
    let cov = columns.iter().map(|z| z * z.transpose()).sum::<Matrix3<f64>>() / 512.0;
    assert!(mean.amax() < 1e-12 && (cov - Matrix3::identity()).amax() < 1e-12);
    // The length of a standard normal triple has the law of √χ²₃.
    let mut lengths: Vec<f64> = columns.iter().map(|z| z.norm()).collect();
    let found = Interval::of_draws(&mut lengths).unwrap();
    for (found, p, tolerance) in
        [(found.low, 0.025, 0.05), (found.median, 0.5, 0.03), (found.high, 0.975, 0.1)]
    {
        near(found, chi_squared_quantile(p, 3.0).sqrt(), tolerance, "length");
    }
    assert_eq!(spread_normals::<6>(64, 7), spread_normals::<6>(64, 7));
}

#[test]
fn mixtures_add_up() {
    let mixture = Mixture::new(vec![
        Component { weight: 3.0, mean: Vector2::new(0.0, 1.0), cov: Matrix2::new(1.0, 0.3, 0.3, 2.0) },
        Component { weight: 1.0, mean: Vector2::new(4.0, -1.0), cov: Matrix2::identity() },
    ])
    .unwrap();
    let (mean, cov) = mixture.moments();
    // By hand: mean 0.25 · 4; variance 1 + 0.75 · 0.25 · 4².
    near(mean[0], 1.0, 1e-12, "mean");
    near(cov[(0, 0)], 4.0, 1e-12, "variance");
    let draws = mixture.draws(40_000, 2).unwrap();
    let drawn = draws.iter().sum::<Vector2<f64>>() / draws.len() as f64;
    assert!((drawn - mean).amax() < 0.03, "{drawn}");
    let below = |x: f64| draws.iter().filter(|d| d[0] < x).count() as f64 / draws.len() as f64;
    for p in [0.025, 0.5, 0.9] {
        near(below(mixture.marginal_quantile(0, p)), p, 0.006, "share below the quantile");
    }
    let wide = Matrix2::identity() * 0.5;
    let by_hand = draws
        .iter()
        .map(|d| log_normal_density(&(Vector2::new(1.0, 0.0) - d), &wide).unwrap())
        .collect::<Vec<_>>();
    let average = log_sum_exp(by_hand.iter().copied()) - (draws.len() as f64).ln();
    near(mixture.log_overlap(&Vector2::new(1.0, 0.0), &wide).unwrap(), average, 0.02, "overlap");
    assert!(Mixture::<2>::new(Vec::new()).is_none());
    near(log_sum_exp([1000.0, 1000.0]), 1000.0 + 2f64.ln(), 1e-9, "log-sum-exp");
}

#[test]
fn a_broken_covariance_is_an_error() {
    let singular = Matrix3::from_diagonal(&Vector3::new(1.0, 1.0, 0.0));
    assert!(factor(&singular).unwrap().jitter > 0.0);
    let negative = Matrix3::from_diagonal(&Vector3::new(1.0, 1.0, -0.1));
    assert_eq!(factor(&negative), Err(NotPositiveDefinite { rows: 3, columns: 3 }));
    assert!(factor(&(Matrix3::identity() * f64::NAN)).is_err());
    assert!(factor(&nalgebra::DMatrix::zeros(2, 3)).is_err());
    assert!(factor(&Matrix3::zeros()).is_err());
}
