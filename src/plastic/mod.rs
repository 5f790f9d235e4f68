//! An area of a picture → the body colour of the plastic there, with glare, clipped and dark pixels dropped.
