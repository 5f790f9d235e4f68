//! The figure weighed on a thread of its own: once for each change of the marks, the result or the guide, never for a
//! frame.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::pictures;
use crate::case::CaseDocument;
use crate::figure::{Findings, Line, PhotoShades, identify};
use crate::guide::Guide;
use crate::jobs::{Wake, Worker};
use crate::measure::{Measurement, Outcome};
use crate::shade::{Predictive, References};

/// A guide that was read.
#[derive(Debug, Clone)]
pub(in crate::app) struct OpenGuide {
    /// As it stands in its file.
    pub guide: Arc<Guide>,
    /// Made ready: its slots with the features and values that may be seen there.
    pub line: Arc<Line>,
    /// Where the pictures lie that it names.
    pub pictures: Arc<BTreeMap<String, PathBuf>>,
}

impl OpenGuide {
    /// Makes a guide ready that stands in a file. Looks on the disk for its pictures.
    pub(in crate::app) fn new(guide: Guide, file: &Path) -> Self {
        Self {
            line: Arc::new(Line::new(&guide)),
            pictures: Arc::new(pictures::places(&guide, file)),
            guide: Arc::new(guide),
        }
    }
}

/// The guide of a case and what follows from it.
#[derive(Debug)]
pub(in crate::app) struct Weighing {
    /// The guide, if one was read.
    pub guide: Option<OpenGuide>,
    /// Where it is, or should be.
    pub file: Option<PathBuf>,
    /// The guides that this case has named so far, by the name in the case: undo may name one again.
    known: BTreeMap<String, (PathBuf, Option<OpenGuide>)>,
    named: Option<String>,
    guides_used: u64,
    asked: Option<Of>,
    found: Option<(Of, Result<Arc<Findings>, String>)>,
    worker: Worker<Job, (Of, Findings)>,
}

/// Which state of things a finding is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Of {
    marks: u64,
    measured: Option<u64>,
    guide: u64,
}

/// What is weighed.
#[derive(Debug, Clone)]
struct Job {
    of: Of,
    guide: Arc<Guide>,
    case: Arc<CaseDocument>,
    outcome: Option<Arc<Outcome>>,
    references: Option<Arc<References>>,
}

impl PartialEq for Job {
    fn eq(&self, other: &Self) -> bool {
        self.of == other.of
    }
}

/// The marks and the result as they are now, each with a number that grows with every change.
pub(in crate::app) struct Now<'a> {
    /// The marks.
    pub marks: (u64, &'a Arc<CaseDocument>),
    /// The newest result.
    pub measured: Option<(u64, &'a Arc<Outcome>)>,
    /// The shades it was compared with.
    pub references: Option<&'a Arc<References>>,
}

impl Weighing {
    /// Nothing weighed yet.
    pub(in crate::app) fn new(
        named: Option<&str>,
        guide: Option<OpenGuide>,
        file: Option<PathBuf>,
        wake: Wake,
    ) -> Self {
        let work = |job: &Job, _: &dyn Fn() -> bool| Some((job.of, weigh(job)));
        let known = named.map(str::to_owned).zip(file.clone().map(|file| (file, guide.clone())));
        Self {
            guide,
            file,
            known: known.into_iter().collect(),
            named: named.map(str::to_owned),
            guides_used: 0,
            asked: None,
            found: None,
            worker: Worker::start("weighing", wake, work),
        }
    }

    /// Learns what the guide of that name in the case holds.
    pub(in crate::app) fn learn(&mut self, name: &str, file: PathBuf, guide: OpenGuide) {
        self.known.insert(name.to_owned(), (file, Some(guide)));
        if self.named.as_deref() == Some(name) {
            self.take_up();
        }
    }

    /// Weighs with the guide that the case names now.
    pub(in crate::app) fn name(&mut self, name: Option<&str>) {
        if self.named.as_deref() != name {
            self.named = name.map(str::to_owned);
            self.take_up();
        }
    }

    fn take_up(&mut self) {
        let known = self.named.as_ref().and_then(|name| self.known.get(name)).cloned();
        (self.file, self.guide) = known.map_or((None, None), |(file, guide)| (Some(file), guide));
        self.guides_used += 1;
        self.found = None;
    }

    /// Asks for a new finding if anything has changed since the last one was asked for.
    pub(in crate::app) fn follow(&mut self, now: &Now) {
        let Some(OpenGuide { guide, .. }) = &self.guide else { return };
        let of = Of { marks: now.marks.0, measured: now.measured.map(|(n, _)| n), guide: self.guides_used };
        if self.asked == Some(of) {
            return;
        }
        self.asked = Some(of);
        self.worker.want(vec![Job {
            of,
            guide: guide.clone(),
            case: now.marks.1.clone(),
            outcome: now.measured.map(|(_, outcome)| outcome.clone()),
            references: now.references.cloned(),
        }]);
    }

    /// Takes in what was found. Findings come in the order they were asked for.
    pub(in crate::app) fn poll(&mut self) {
        while let Some(arrived) = self.worker.poll() {
            match (arrived, self.asked) {
                (Ok((of, findings)), _) if of.guide == self.guides_used => {
                    self.found = Some((of, Ok(Arc::new(findings))));
                }
                (Ok(_), _) | (Err(_), None) => {}
                (Err(text), Some(of)) => self.found = Some((of, Err(text))),
            }
        }
    }

    /// The newest finding, or why there is none; `None` before the first.
    pub(in crate::app) fn findings(&self) -> Option<Result<&Findings, &str>> {
        let (_, found) = self.found.as_ref()?;
        Some(found.as_ref().map(|findings| &**findings).map_err(String::as_str))
    }

    /// Whether the finding is not that of the newest state.
    #[cfg(test)]
    pub(super) fn is_weighing(&self) -> bool {
        self.asked != self.found.as_ref().map(|(of, _)| *of)
    }
}

fn weigh(job: &Job) -> Findings {
    let nothing = Measurement::default();
    let measurement = job.outcome.as_ref().map_or(&nothing, |outcome| &outcome.measurement);
    let predictive = job.references.as_ref().and_then(|r| Predictive::from_references(r).ok());
    let light = job.outcome.as_ref().and_then(|outcome| outcome.light.as_ref());
    let photo = light.zip(predictive.as_ref());
    let photo = photo.map(|(light, predictive)| PhotoShades { light, predictive });
    identify(&job.case, measurement, photo, &job.guide)
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use super::*;
    use crate::case::{Edit, Observation};

    fn demo_guide() -> OpenGuide {
        let text = include_str!("../../../assets/demo/skerry-rescue.guide.json");
        OpenGuide::new(crate::guide::read_guide(text).unwrap(), Path::new("a.guide.json"))
    }

    fn wait(weighing: &mut Weighing) {
        let end = Instant::now() + Duration::from_secs(30);
        while weighing.is_weighing() {
            assert!(Instant::now() < end, "never weighed");
            std::thread::sleep(Duration::from_millis(2));
            weighing.poll();
        }
    }

    #[test]
    fn a_figure_is_weighed_once_for_each_change_and_without_a_photo() {
        let mut weighing = Weighing::new(None, Some(demo_guide()), None, Arc::new(|| {}));
        let mut case = CaseDocument::new("");
        let now = |number: u64, case: &CaseDocument, weighing: &mut Weighing| {
            weighing.follow(&Now {
                marks: (number, &Arc::new(case.clone())),
                measured: None,
                references: None,
            });
        };
        now(1, &case, &mut weighing);
        wait(&mut weighing);
        let before = weighing.findings().unwrap().unwrap().clone();
        assert!(before.slots.is_empty(), "nothing was seen yet");
        let rest = serde_json::Map::new();
        let seen = Observation {
            slot: "pack".into(),
            feature: "mould".into(),
            value: "P1".into(),
            sure: true,
            rest,
        };
        Edit::Observe(seen).apply(&mut case).unwrap();
        // The same number means that nothing has changed.
        now(1, &case, &mut weighing);
        assert!(!weighing.is_weighing());
        now(2, &case, &mut weighing);
        assert!(weighing.is_weighing());
        wait(&mut weighing);
        let after = weighing.findings().unwrap().unwrap();
        // In the guide the air bottle is the Diver's alone.
        assert_eq!(after.ranking[0].character, "Diver");
        assert_ne!(before.ranking, after.ranking);
    }
}
