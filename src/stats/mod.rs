//! Robust centres and covariances, Student-t, quantiles, seeded draws, propagation of uncertainty.
