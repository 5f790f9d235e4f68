//! Spectra, pigments, lamps and cameras: invented scenes whose truth is known.
