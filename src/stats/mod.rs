//! Robust centres and covariances, Student-t, mixtures, seeded draws, propagation of uncertainty, and
//! the tools that check whether error bars are true.

mod draws;
mod factor;
mod mixture;
mod normal;
mod quantile;
mod student;

pub use draws::{Draws, joint_draws, spread_normals};
pub use factor::{Factor, NotPositiveDefinite, factor};
pub use mixture::{Component, Mixture, log_sum_exp};
pub use normal::{
    chi_squared_cdf, chi_squared_quantile, log_normal_density, normal_cdf, normal_quantile, squared_distance,
    student_t_quantile,
};
pub use quantile::{Interval, mad, median, weighted_quantile};
pub use student::StudentT;
