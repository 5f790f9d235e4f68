//! The window: shows state, sends commands; holds no knowledge of colour.
