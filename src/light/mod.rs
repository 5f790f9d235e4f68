//! Zones of known colour → the light of the photo → joint readings with their budget and remedies.
