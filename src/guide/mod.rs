//! The guide of one line: characters, runs, slots, moulds, shades, paint details.
