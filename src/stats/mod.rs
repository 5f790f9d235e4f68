//! Robust centres and covariances, Student-t, mixtures, seeded draws, propagation of uncertainty, and
//! the tools that check whether error bars are true.

mod calibration;
mod decision;
mod draws;
mod factor;
#[cfg(test)]
mod gum_checks;
#[cfg(test)]
mod law_checks;
mod mixture;
mod normal;
mod propagate;
mod quadratic_form;
mod quadrature;
mod quantile;
mod robust;
mod student;

pub use calibration::{
    Reliability, brier_score, calibration_error, calibration_error_when_true, crps_of_draws, crps_of_normal,
    log_score, region_coverage,
};
pub use decision::{accepted_class, class_probabilities, entropy_bits};
pub use draws::{Draws, joint_draws, spread_normals};
pub use factor::{Factor, NotPositiveDefinite, factor};
pub use mixture::{Component, Mixture, log_sum_exp};
pub use normal::{
    chi_squared_cdf, chi_squared_quantile, log_normal_density, normal_cdf, normal_quantile, squared_distance,
    student_t_quantile,
};
pub use propagate::{Linear, Summary, effective_degrees_of_freedom, propagate_draws, propagate_linear};
pub use quadratic_form::QuadraticForm;
pub use quadrature::gauss_nodes;
pub use quantile::{Interval, mad, median, weighted_quantile};
pub use robust::{Robust, robust_centre};
pub use student::StudentT;
