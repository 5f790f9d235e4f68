//! What there is to remark of a guide: what is wrong with it and what might be, each at its place. It is read over on a
//! thread of its own.

use std::sync::Arc;

use crate::guide::{self, Guide};
use crate::jobs::{Wake, Worker};

/// Something to be said at a place of the guide.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::app) struct Remark {
    /// Place, text and what to do.
    pub said: guide::Problem,
    /// The guide cannot be used before this is mended.
    pub grave: bool,
}

/// The remarks on the newest state that was read over.
pub(in crate::app) struct Remarks {
    /// All, the grave first.
    pub all: Vec<Remark>,
    checked: u64,
    asked: u64,
    checker: Worker<Check, (u64, Vec<Remark>)>,
}

#[derive(Debug, Clone)]
struct Check {
    number: u64,
    guide: Arc<Guide>,
}

impl PartialEq for Check {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number
    }
}

impl Remarks {
    /// Nothing was read over yet.
    pub(super) fn start(wake: Wake) -> Self {
        let look = |job: &Check, _: &dyn Fn() -> bool| Some((job.number, remarks(&job.guide)));
        let checker = Worker::start("reading the guide over", wake, look);
        Self { all: Vec::new(), checked: 0, asked: 0, checker }
    }

    /// The guide is another one now.
    pub(super) fn read_over(&mut self, guide: Arc<Guide>) {
        self.asked += 1;
        self.checker.want(vec![Check { number: self.asked, guide }]);
    }

    /// Takes in what was finished.
    pub(super) fn poll(&mut self) {
        while let Some(arrived) = self.checker.poll() {
            match arrived {
                Ok((number, remarks)) => (self.checked, self.all) = (number, remarks),
                Err(_) => self.checked = self.asked,
            }
        }
    }

    /// A number that grows with every change of the guide.
    pub(super) fn state(&self) -> u64 {
        self.asked
    }

    /// Whether they are those of the guide as it is now.
    pub(in crate::app) fn are_current(&self) -> bool {
        self.checked == self.asked
    }

    /// How many are grave.
    pub(in crate::app) fn grave(&self) -> usize {
        self.all.iter().filter(|remark| remark.grave).count()
    }

    /// Those on a place itself.
    pub(super) fn at(&self, place: &str) -> impl Iterator<Item = &Remark> {
        self.all.iter().filter(move |remark| remark.said.place == place)
    }

    /// Those on a place and all below it.
    pub(super) fn under(&self, place: &str) -> impl Iterator<Item = &Remark> {
        self.all.iter().filter(move |remark| is_under(&remark.said.place, place))
    }
}

/// Whether a place is another one or lies below it.
pub(super) fn is_under(place: &str, above: &str) -> bool {
    place.strip_prefix(above).is_some_and(|rest| rest.is_empty() || rest.starts_with(" › "))
}

/// What is wrong and what might be, the grave first.
fn remarks(guide: &Guide) -> Vec<Remark> {
    let grave = guide::validate(guide).into_iter().map(|said| Remark { said, grave: true });
    let light = guide::lint(guide).into_iter().map(|lint| Remark { said: lint.problem, grave: false });
    grave.chain(light).collect()
}
