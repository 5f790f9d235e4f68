//! A small rehearsal: the error bars and calls on invented scenes of known truth.
//!
//! Every limit on a share of n scenes is the target plus three standard errors √(p (1 − p) / n) of a count
//! at the target p, so that a program that just meets the target passes with 99.9 % and one that misses it
//! by more than that fails.

use sameshot::rehearse::{Evenness, FAMILIES, Known, Options, rehearse};

#[test]
fn the_same_seed_gives_the_same_table() {
    let options = Options { scenes: 16, known: vec![Known::Ladder], ..Options::default() };
    let table = rehearse(&options, |_| {});
    assert_eq!(table, rehearse(&options, |_| {}));
    let other = rehearse(&Options { seed: 2, ..options }, |_| {});
    assert_ne!(table, other);
    assert_eq!(table.rows.len(), FAMILIES.len() * Evenness::ALL.len());
}
