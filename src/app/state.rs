//! What the window knows; what it does about it stands in `act`. Nothing here knows a widget: panels read the state and
//! hand back actions.

use std::path::{Path, PathBuf};

use crate::case::MarkKind;
use crate::jobs::{Errands, Task, Wake};
use crate::problem::Problem;
use crate::shade::References;
use crate::storage::Journal;

use super::action::{Ask, Message, Next, Sheet, Tab, Tool};
use super::bench::light_layer::LightLayer;
use super::bench::shade_layer::ShadeLayer;
use super::bench::view::{Bench, View};
use super::card::{self, CardStep};
use super::card_file::CardTask;
use super::collection::records::CollectionPage;
use super::compare::beside::{Beside, OpeningBeside};
use super::family::gathering::Gathering;
use super::figure::weighing::OpenGuide;
use super::files::keeper::Keeper;
use super::files::open::{Opened, Refusal};
use super::files::save::Saved;
use super::files::start::{self, Found};
use super::guide::editor::GuideEditor;
use super::session::Session;
use super::settings::KeptSettings;
use super::tray::work::TrayWork;

/// A case being read; nothing where it was cancelled.
pub(super) type Loading = Task<Option<Result<Opened, Refusal>>>;

/// All that the window knows.
pub(super) struct State {
    /// The open case.
    pub session: Option<Session>,
    /// What is being read.
    pub loading: Option<Loading>,
    /// What is being written.
    pub saving: Option<Task<Saved>>,
    /// Shades being read, with the path they come from.
    pub reading_references: Option<Task<(PathBuf, Result<References, Problem>)>>,
    /// A guide being read, with the path it comes from.
    pub reading_guide: Option<Task<(PathBuf, Result<OpenGuide, Problem>)>>,
    /// A photo of the empty board being read.
    pub reading_empty_board: Option<super::board::ReadingEmptyBoard>,
    /// The case of another photo of the same parts being read.
    pub reading_other_photo: Option<super::other_photos::ReadingOtherPhoto>,
    /// A guide being read to be changed.
    pub reading_to_edit: Option<super::guide::act::Reading>,
    /// The guide being written.
    pub editor: Option<GuideEditor>,
    /// The slot of the figure that is looked at.
    pub figure_slot: Option<String>,
    /// What the mouse does on the photo.
    pub tool: Tool,
    /// What a new mark says of its area.
    pub draws: MarkKind,
    /// The card's steps.
    pub card: Vec<CardStep>,
    /// A card file being read or written.
    pub card_task: Option<CardTask>,
    /// What the column shows.
    pub tab: Tab,
    /// Which part of the photo is seen.
    pub view: Option<View>,
    /// Where the photo is shown.
    pub bench: Bench,
    /// What stands in front of the window.
    pub sheet: Option<Sheet>,
    /// What there is to tell.
    pub message: Option<Message>,
    /// The system's dialog that is to be opened.
    pub ask: Option<Ask>,
    /// Corners of the polygon that is being drawn.
    pub corners: Vec<[f64; 2]>,
    /// The cursor shall go into the name of the selected mark.
    pub focus_name: bool,
    /// The selected mark shall take the keys.
    pub focus_mark: bool,
    /// And be scrolled to.
    pub reveal_mark: bool,
    /// Nothing but the photo or a mark on it takes the keys.
    pub keys_on_bench: bool,
    /// The person has left.
    pub quit: bool,
    /// Other greys were asked for.
    pub toggle_theme: bool,
    /// The next area of the window shall take the keys, or the one before.
    pub next_area: Option<bool>,
    /// What was chosen for the window itself.
    pub settings: KeptSettings,
    /// What was found when the window opened.
    pub found: Found,
    /// Where recent files and unsaved work are kept.
    pub data_folder: Option<PathBuf>,
    /// Being looked for when the window opens.
    pub starting: Option<Task<Found>>,
    /// Keeps copies of unsaved marks.
    pub keeper: Keeper,
    /// Keeps copies of an unsaved guide.
    pub guide_keeper: Keeper,
    /// Keeps copies of unsaved shades.
    pub shades_keeper: Keeper,
    /// The journal of the work that is being gone on with.
    pub taken_over: Option<Journal>,
    /// What was asked for before the marks are saved.
    pub after_save: Option<Next>,
    /// The shades being looked at or built.
    pub gathering: Gathering,
    /// Loose parts being found.
    pub tray: TrayWork,
    /// The shade map over the photo.
    pub shade_layer: ShadeLayer,
    /// The light over the photo.
    pub light_layer: LightLayer,
    /// A second photo beside the first.
    pub beside: Option<Beside>,
    /// It is being read.
    pub opening_beside: Option<OpeningBeside>,
    /// Whether the magnifier is on.
    pub magnifier: bool,
    /// The collection.
    pub collection: CollectionPage,
    /// The report being written.
    pub reporting: Option<Task<Result<PathBuf, Problem>>>,
    /// Small things written that nobody waits for.
    pub errands: Errands,
    /// Called when something has arrived.
    pub wake: Wake,
}

impl State {
    /// An empty window. Recent files and unsaved work are kept in the data folder, if there is one, and settings in the
    /// other one.
    pub(super) fn new(data_folder: Option<PathBuf>, config_folder: Option<&Path>, wake: Wake) -> Self {
        let folder = data_folder.clone();
        let look = move |_: &_| start::look(folder.as_deref());
        Self {
            found: Found::default(),
            starting: Some(Task::start("Looking for unsaved work".into(), wake.clone(), look)),
            keeper: Keeper::start(data_folder.as_deref(), None, wake.clone()),
            guide_keeper: Keeper::start(data_folder.as_deref(), None, wake.clone()),
            shades_keeper: Keeper::start(data_folder.as_deref(), None, wake.clone()),
            data_folder,
            taken_over: None,
            session: None,
            loading: None,
            saving: None,
            reading_references: None,
            reading_guide: None,
            reading_empty_board: None,
            reading_other_photo: None,
            reading_to_edit: None,
            editor: None,
            figure_slot: None,
            tool: Tool::Choose,
            draws: MarkKind::Reading,
            card: card::common_ladder(),
            card_task: None,
            tab: Tab::Parts,
            view: None,
            errands: Errands::default(),
            bench: Bench { min: [0.0; 2], size: [1.0; 2], pixels_per_point: 1.0 },
            sheet: None,
            message: None,
            ask: None,
            corners: Vec::new(),
            focus_name: false,
            focus_mark: false,
            reveal_mark: false,
            keys_on_bench: true,
            quit: false,
            toggle_theme: false,
            next_area: None,
            settings: KeptSettings::read(config_folder, wake.clone()),
            after_save: None,
            gathering: Gathering::new(wake.clone()),
            tray: TrayWork::new(wake.clone()),
            shade_layer: ShadeLayer::default(),
            light_layer: LightLayer::default(),
            beside: None,
            opening_beside: None,
            magnifier: false,
            collection: CollectionPage::new(wake.clone()),
            reporting: None,
            wake,
        }
    }

    /// The photo's size in pixels.
    pub(super) fn photo_px(&self) -> Option<[f64; 2]> {
        self.session.as_ref().map(Session::photo_px)
    }

    /// The view, fitted where nothing else was chosen.
    pub(super) fn current_view(&self) -> Option<View> {
        let photo_px = self.photo_px()?;
        let chosen = self.view.filter(|view| !view.fitted);
        Some(chosen.unwrap_or_else(|| View::fit(photo_px, &self.bench)))
    }

    /// Something to tell.
    pub(super) fn tell(&mut self, text: impl Into<String>, remedy: impl Into<String>) {
        self.message = Some(Message { text: text.into(), remedy: remedy.into() });
    }

    /// Does something with the open case, if there is one.
    pub(super) fn with_session<T>(&mut self, work: impl FnOnce(&mut Session) -> T) -> Option<T> {
        self.session.as_mut().map(work)
    }

    /// Does something with the open case and tells what went wrong.
    pub(super) fn try_edit(&mut self, work: impl FnOnce(&mut Session) -> Result<(), Problem>) {
        if let Some(Err(problem)) = self.with_session(work) {
            self.message = Some(problem.into());
        }
    }
}
