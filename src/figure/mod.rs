//! Evidence about the parts of a figure → who it is, what does not belong, the next look.
