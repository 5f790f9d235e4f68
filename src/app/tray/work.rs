//! Loose parts in the window: what is being looked for on other threads, and what was found. No widget here.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::card::KnownSteps;
use crate::card::known::{KnownStep, parse_card};
use crate::case::{BodyElsewhere, CaseDocument, LoosePart, MarkKind};
use crate::jobs::{Task, Wake, Worker};
use crate::measure::Outcome;
use crate::problem::Problem;
use crate::raster::{Raster, Reduced};
use crate::shade::References;
use crate::storage::read_limited;
use crate::tray::found::{Found, look};
use crate::tray::grow::{GROW_PX, Grown, grow};
use crate::tray::overview::{Overview, overview};

use super::folder::FolderWork;
use crate::app::card::{self, CardStep};
use crate::app::session::Session;
use crate::app::state::State;

/// A card file has at most so many bytes.
const CARD_LIMIT_BYTES: u64 = 1_000_000;

/// What the window knows of loose parts besides what the case keeps.
pub(in crate::app) struct TrayWork {
    /// Cards and parts being looked for.
    pub looking: Option<Task<Looked>>,
    /// An area being grown.
    pub growing: Option<Task<Result<Grown, Problem>>>,
    /// Bodies of another case being measured.
    pub bodies: Option<Task<ReadBodies>>,
    /// A folder being sorted.
    pub folder: Option<FolderWork>,
    /// The part that is looked at, where it has no reading to be selected.
    pub chosen: Option<u32>,
    /// The part that the next polygon is the outline of.
    pub redraws: Option<u32>,
    /// Where a cut begins.
    pub cut_from: Option<[f64; 2]>,
    /// The photo shall take the keys.
    pub focus_bench: bool,
    /// The part's own controls shall take them: it was changed, and whoever uses keys goes on from there.
    pub focus_part: bool,
    overview: Overview,
    asked: Option<Key>,
    known: Option<Key>,
    worker: Worker<Job, (Key, Overview)>,
}

/// The bodies of another case, or why there are none; nothing where it was cancelled.
pub(super) type ReadBodies = Option<Result<Vec<BodyElsewhere>, Problem>>;

/// What was found in the photo, with the greys to mark the card with.
#[derive(Debug, Clone)]
pub(in crate::app) struct Looked {
    pub found: Found,
    pub steps: Result<KnownSteps, Problem>,
    pub for_parts: bool,
}

/// The state of marks and of their result that an overview is of.
type Key = (u64, Option<u64>);

#[derive(Debug, Clone)]
struct Job {
    key: Key,
    case: Arc<CaseDocument>,
    outcome: Option<Arc<Outcome>>,
    references: Option<Arc<References>>,
}

impl PartialEq for Job {
    fn eq(&self, other: &Self) -> bool {
        self.key == other.key
    }
}

impl TrayWork {
    /// Nothing found yet.
    pub(in crate::app) fn new(wake: Wake) -> Self {
        let work = |job: &Job, _: &dyn Fn() -> bool| {
            let measurement = job.outcome.as_ref().map(|outcome| &outcome.measurement);
            Some((job.key, overview(&job.case, measurement, job.references.as_deref())))
        };
        Self {
            looking: None,
            growing: None,
            bodies: None,
            folder: None,
            chosen: None,
            redraws: None,
            cut_from: None,
            focus_bench: false,
            focus_part: false,
            overview: Overview::default(),
            asked: None,
            known: None,
            worker: Worker::start("loose parts", wake, work),
        }
    }

    /// What is known of the parts; a moment behind the marks.
    pub(super) fn overview(&self) -> &Overview {
        &self.overview
    }

    /// Whether it is that of the marks as they are now.
    pub(super) fn is_current(&self) -> bool {
        self.known == self.asked
    }

    /// Gives up what is being drawn.
    pub(in crate::app) fn let_go(&mut self) {
        self.redraws = None;
        self.cut_from = None;
    }

    /// Forgets all about the photo before.
    pub(in crate::app) fn forget(&mut self) {
        self.looking = None;
        self.growing = None;
        self.bodies = None;
        self.chosen = None;
        self.let_go();
        self.overview = Overview::default();
        self.asked = None;
        self.known = None;
    }

    fn follow(&mut self, session: &Session) {
        let key = (session.generation(), session.outcome().map(|(generation, _)| generation));
        if session.case().tray.is_none() {
            self.overview = Overview::default();
            (self.asked, self.known) = (None, None);
        } else if self.asked != Some(key) {
            self.asked = Some(key);
            self.worker.want(vec![Job {
                key,
                case: session.shared_case(),
                outcome: session.outcome().map(|(_, outcome)| outcome),
                references: session.references.clone(),
            }]);
        }
        while let Some(arrived) = self.worker.poll() {
            if let Ok((key, overview)) = arrived
                && self.asked.is_some_and(|asked| asked >= key)
            {
                self.known = Some(key);
                self.overview = overview;
            }
        }
    }
}

impl State {
    /// The part that is looked at: that of the selected mark, else the one that was chosen by its number.
    pub(in crate::app) fn chosen_part(&self) -> Option<&LoosePart> {
        let session = self.session.as_ref()?;
        let tray = session.case().tray.as_ref()?;
        let selected = session.selected().filter(|mark| mark.kind == MarkKind::Reading);
        selected.and_then(|mark| tray.part_of(&mark.id)).or_else(|| tray.part(self.tray.chosen?))
    }

    /// Looks for the card, and for loose parts if asked to, on a thread.
    pub(in crate::app) fn look_for(&mut self, for_parts: bool) {
        let Some(session) = &self.session else { return };
        let (raster, photo) = (session.raster.clone(), session.photo_path.clone());
        let own = self.card.clone();
        let work =
            move |_: &_| Looked { found: look(&raster, for_parts), steps: steps(&own, &photo), for_parts };
        let label = if for_parts { "Looking for the parts" } else { "Looking for the card" };
        self.tray.looking = Some(Task::start(label.into(), self.wake.clone(), work));
    }

    /// Grows an area from a point of the photo, on a thread.
    pub(super) fn grow_from(&mut self, point_px: [f64; 2]) {
        let Some(session) = &self.session else { return };
        let raster = session.raster.clone();
        let work = move |_: &_| grow(&reduced(&raster), point_px);
        self.tray.growing = Some(Task::start("Growing the area".into(), self.wake.clone(), work));
    }

    /// Takes in what was found.
    pub(in crate::app) fn poll_tray(&mut self) {
        if let Some(result) = self.tray.looking.as_ref().and_then(Task::poll) {
            self.tray.looking = None;
            match result {
                Ok(looked) => self.mark_found(&looked),
                Err(text) => self.tell(text, "Mark the card and the parts by hand."),
            }
        }
        if let Some(result) = self.tray.growing.as_ref().and_then(Task::poll) {
            self.tray.growing = None;
            match result {
                Ok(Ok(grown)) => self.mark_grown(grown.outline),
                Ok(Err(problem)) => self.message = Some(problem.into()),
                Err(text) => self.tell(text, "Draw the area by hand."),
            }
        }
        self.poll_bodies();
        self.poll_folder();
        if let Some(session) = &self.session {
            self.tray.follow(session);
        }
    }
}

fn reduced(raster: &Raster) -> Reduced {
    Reduced::of(raster, GROW_PX)
}

/// The greys of the printed card: the person's own list, else the only calibration in the photo's folder, else nominal.
fn steps(own: &[CardStep], photo: &Path) -> Result<KnownSteps, Problem> {
    let nominal = KnownSteps::default();
    if own.len() == nominal.steps.len() && own != card::common_ladder() {
        let steps = own.iter().map(|step| KnownStep { lab: step.lab, sd: step.sd }).collect();
        return Ok(KnownSteps { steps, calibrated: true });
    }
    let Some(folder) = photo.parent() else { return Ok(nominal) };
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let cards: Vec<PathBuf> = entries
        .map(|entry| entry.path())
        .filter(|path| path.to_string_lossy().ends_with(".card.json"))
        .collect();
    let [only] = cards.as_slice() else { return Ok(nominal) };
    let bytes = read_limited(only, CARD_LIMIT_BYTES)?;
    Ok(parse_card(&bytes).map_err(|problem| problem.in_file(only.display()))?.into())
}
