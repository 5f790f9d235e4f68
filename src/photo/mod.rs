//! Bytes of a photo file → an upright picture and the facts about it.
