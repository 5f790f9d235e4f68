//! Results as text for people.
