//! For measuring the window: a line a frame in the file that SAMESHOT_FRAME_TIMES names.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::time::Instant;

/// Where the times go.
pub(super) struct FrameTimes {
    out: BufWriter<File>,
    began: Instant,
}

impl FrameTimes {
    /// Nothing unless the variable names a file that can be written.
    pub(super) fn asked_for(began: Instant) -> Option<Self> {
        let file = File::create(std::env::var_os("SAMESHOT_FRAME_TIMES")?).ok()?;
        Some(Self { out: BufWriter::new(file), began })
    }

    /// Notes a frame that begins: milliseconds since the start, milliseconds that the frame before took without waiting
    /// for the screen (0 for the first), and whether a photo is seen (1) or not (0).
    pub(super) fn note(&mut self, before_s: Option<f32>, photo: bool) {
        let now_ms = self.began.elapsed().as_secs_f64() * 1e3;
        let before_ms = before_s.unwrap_or(0.0) * 1e3;
        // A measurement that cannot be written is seen to be missing.
        let _ = writeln!(self.out, "{now_ms:.2} {before_ms:.2} {}", u8::from(photo));
    }
}
