//! A small rehearsal: the error bars and calls on invented scenes of known truth.
//!
//! A limit on a share of n scenes is the target and three standard errors √(p (1 − p) / n) of a count at the
//! target p: a program that just meets the target passes 999 times of 1000, and one that misses it by more
//! than twice that fails.

use std::sync::LazyLock;

use sameshot::rehearse::{Evenness, FAMILIES, Known, Options, Rehearsal, rehearse};

const SCENES: usize = 200;

fn three_standard_errors(share: f64, count: f64) -> f64 {
    3.0 * (share * (1.0 - share) / count.max(1.0)).sqrt()
}

/// One table for all tests of it, as it takes most of their time.
static GREENS_4_APART: LazyLock<Rehearsal> = LazyLock::new(|| {
    let options = Options { scenes: 2 * SCENES, families: FAMILIES[..1].to_vec(), ..Options::default() };
    rehearse(&options, |_| {})
});

#[test]
fn bars_and_calls_keep_their_word() {
    let table = &*GREENS_4_APART;
    println!("{}", table.text());
    assert_eq!(table.rows.len(), Known::ALL.len() * Evenness::ALL.len());
    for row in &table.rows {
        let name = format!("{}, {}", row.known, row.light);
        let n = row.scenes as f64;
        assert!(row.scenes > SCENES * 9 / 10, "{name}: {n} scenes");

        // The 95 % region must hold at least 91 %.
        let inside = row.coverage["95"];
        assert!(inside >= 0.91 - three_standard_errors(0.91, n), "{name}: {inside} inside 95 %");

        // At most 2 % of what is said at 95 % may be wrong; a single wrong call is no evidence against that.
        let wrong = row.wrong_among_decided.unwrap_or(0.0);
        let decided = (n * row.decided).max(1.0);
        let most = (0.02 + three_standard_errors(0.02, decided)).max(1.0 / decided);
        assert!(wrong <= most + 1e-9, "{name}: {wrong} wrong of {} decided, at most {most}", row.decided);

        // No photo can decide more than exact colours would.
        assert!(row.decided <= row.decided_at_best, "{name}");
    }
    for pair in &table.pairs {
        // One plastic at two angles is called different in at most 5 %.
        let most = 0.05 + three_standard_errors(0.05, SCENES as f64);
        assert!(
            pair.same_called_different <= most,
            "{}, {}: {}",
            pair.known,
            pair.light,
            pair.same_called_different
        );
    }
}

#[test]
fn a_known_part_beside_it_is_the_best_card() {
    let table = &*GREENS_4_APART;
    for light in Evenness::ALL {
        let of = |known| table.row("greens 4 apart", known, light).unwrap();
        let (ladder, part) = (of(Known::Ladder), of(Known::LadderAndPart));
        assert!(part.log_score < ladder.log_score - 1.0, "{light:?}");
        assert!(part.median_de00 < 0.6 * ladder.median_de00, "{light:?}");
        assert!(part.log_score < of(Known::PartOnly).log_score, "{light:?}");
        assert!(ladder.log_score < of(Known::Nothing).log_score, "{light:?}");
    }
}

/// Three measured parts beside the card decide nine of ten, and hardly ever wrongly, under even and uneven light.
#[test]
fn a_specimen_of_each_shade_decides_nearly_all() {
    let families: Vec<_> =
        FAMILIES.into_iter().filter(|f| f.name == "greens 4 apart, a specimen of each").collect();
    let known = vec![Known::LadderAndPart];
    let table = rehearse(&Options { scenes: 2 * SCENES, families, known, ..Options::default() }, |_| {});
    assert_eq!(table.rows.len(), Evenness::ALL.len());
    for row in &table.rows {
        let (n, name) = (row.scenes as f64, &row.light);
        println!("{name}: {:.3} decided, {:?} wrong of those", row.decided, row.wrong_among_decided);
        assert!(row.decided >= 0.9 - three_standard_errors(0.9, n), "{name}: {}", row.decided);
        let wrong = row.wrong_among_decided.unwrap();
        assert!(wrong <= 0.02 + three_standard_errors(0.02, n * row.decided), "{name}: {wrong} wrong");
        let inside = row.coverage["95"];
        assert!(inside >= 0.91 - three_standard_errors(0.91, n), "{name}: {inside} inside 95 %");
    }
}

#[test]
fn the_same_seed_gives_the_same_table() {
    let options = Options { scenes: 16, known: vec![Known::Ladder], ..Options::default() };
    let table = rehearse(&options, |_| {});
    assert_eq!(table, rehearse(&options, |_| {}));
    let other = rehearse(&Options { seed: 2, ..options }, |_| {});
    assert_ne!(table, other);
    assert_eq!(table.rows.len(), FAMILIES.len() * Evenness::ALL.len());
}
