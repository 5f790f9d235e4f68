//! A person before the window: starts it, waits for its workers, clicks and types by accessible names. What is found
//! here by its label, a screen reader finds too.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use egui::{Event, Key, Modifiers, PointerButton, Pos2, Role, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use sameshot::app::{Start, Window};

/// How long a worker may take before a check gives up.
const PATIENCE: Duration = Duration::from_secs(60);

/// The usual size of the window, in points.
pub(crate) const USUAL: [f32; 2] = [1280.0, 800.0];

/// A window and the person before it.
pub(crate) struct Walk {
    /// For what the methods here do not do.
    pub(crate) harness: Harness<'static, Option<Window>>,
}

impl Walk {
    /// Opens the window on a case or photo, or on the first page; nothing is kept between two starts.
    pub(crate) fn open(path: Option<PathBuf>, size: [f32; 2]) -> Self {
        Self::start(Start { path, ..Start::default() }, size)
    }

    /// Opens the window with what `start` says.
    pub(crate) fn start(start: Start, size: [f32; 2]) -> Self {
        let harness = Harness::builder().with_size(vec2(size[0], size[1])).build_ui_state(
            move |ui, window: &mut Option<Window>| {
                window.get_or_insert_with(|| Window::new(ui.ctx(), &start)).ui(ui);
            },
            None,
        );
        Self { harness }
    }

    /// The window itself, once it was drawn.
    pub(crate) fn window(&self) -> &Window {
        let Some(window) = self.harness.state() else { panic!("the window was never drawn") };
        window
    }

    /// Steps until something is so; the workers need their time.
    pub(crate) fn wait(&mut self, what: &str, there: impl Fn(&Self) -> bool) {
        let end = Instant::now() + PATIENCE;
        while !there(self) {
            assert!(Instant::now() < end, "waited for {what} in vain; the window shows {:#?}", self.labels());
            std::thread::sleep(Duration::from_millis(5));
            self.harness.step();
        }
        self.settle();
    }

    /// Steps until a label that contains this is there.
    pub(crate) fn wait_for(&mut self, label: &str) {
        self.wait(label, |walk| walk.shows(label));
    }

    /// Lets the window draw what the last step changed, and checks its names and roles.
    pub(crate) fn settle(&mut self) {
        self.harness.run_steps(3);
        self.harness.check_accessibility();
    }

    /// Whether a label that contains this is there.
    pub(crate) fn shows(&self, label: &str) -> bool {
        self.harness.query_all_by_label_contains(label).next().is_some()
    }

    /// All labels that are there, in the order of the window.
    pub(crate) fn labels(&self) -> Vec<String> {
        self.harness
            .query_all_by_label_contains("")
            .filter_map(|node| node.accesskit_node().label())
            .collect()
    }

    /// Clicks the control of exactly this name.
    pub(crate) fn click(&mut self, label: &str) {
        let found = self.harness.query_all_by_label(label).next();
        found.unwrap_or_else(|| panic!("no control named {label} in {:#?}", self.labels())).click();
        self.settle();
    }

    /// Clicks the control of exactly this name once it can be used.
    pub(crate) fn click_when_usable(&mut self, label: &str) {
        self.wait(label, |walk| {
            walk.harness.query_all_by_label(label).any(|node| !node.accesskit_node().is_disabled())
        });
        self.click(label);
    }

    /// Clicks the first control whose name contains this.
    pub(crate) fn click_like(&mut self, label: &str) {
        let found = self.harness.query_all_by_label_contains(label).next();
        found.unwrap_or_else(|| panic!("no control like {label} in {:#?}", self.labels())).click();
        self.settle();
    }

    /// Presses a key.
    pub(crate) fn press(&mut self, key: Key) {
        self.press_with(Modifiers::NONE, key);
    }

    /// Presses a key while others are held.
    pub(crate) fn press_with(&mut self, modifiers: Modifiers, key: Key) {
        self.harness.key_press_modifiers(modifiers, key);
        self.settle();
    }

    /// Goes on with Tab until the first control whose name contains this has the focus, then presses Space.
    pub(crate) fn press_by_keys(&mut self, label: &str) {
        self.go_by_keys(label);
        self.press(Key::Space);
    }

    /// Goes on with Tab until the first control whose name contains this has the focus, and with the keys that go among
    /// those that are one stop.
    pub(crate) fn go_by_keys(&mut self, label: &str) {
        self.go(label, &|walk| walk.is_at(label));
    }

    /// Goes on in the same way until the control of exactly this name has the focus, then presses Space.
    pub(crate) fn press_exactly(&mut self, label: &str) {
        self.go(label, &|walk| {
            walk.harness.query_all_by_label(label).any(|node| node.accesskit_node().is_focused())
        });
        self.press(Key::Space);
    }

    fn go(&mut self, label: &str, is_there: &dyn Fn(&Self) -> bool) {
        for _ in 0..200 {
            if is_there(self) {
                return;
            }
            if self.is_among() {
                self.press(Key::Home);
                let first = self.focused();
                while !is_there(self) {
                    let before = self.focused();
                    self.press(if before.as_ref().is_some_and(is_mark) {
                        Key::Period
                    } else {
                        Key::ArrowDown
                    });
                    if self.focused() == before || self.focused() == first {
                        break;
                    }
                }
                if is_there(self) {
                    return;
                }
            }
            self.press(Key::Tab);
        }
        panic!("keys never reach {label}");
    }

    fn is_at(&self, label: &str) -> bool {
        let found = self.harness.query_all_by_label_contains(label).next();
        let found = found.unwrap_or_else(|| panic!("no control like {label} in {:#?}", self.labels()));
        found.accesskit_node().is_focused()
    }

    /// Role and name of what has the focus.
    pub(crate) fn focused(&self) -> Option<(Role, String)> {
        let mut nodes = self.harness.query_all_by_label_contains("").map(|node| node.accesskit_node());
        let node = nodes.find(|node| node.is_focused())?;
        Some((node.role(), node.label().unwrap_or_default()))
    }

    /// Whether the focus is on one of the controls that are one stop of Tab.
    fn is_among(&self) -> bool {
        let focused = self.focused();
        let named = |name: &str| name.starts_with("Part ") || name.starts_with("Record ");
        focused.is_some_and(|focused| is_mark(&focused) || named(&focused.1))
    }

    /// Goes on with Tab, and among what is one stop with its keys, until all that can be used has had the focus, and names
    /// what never had it. What goes away on the
    /// way, as the fields of a mark do when the next one is selected, is not asked for.
    pub(crate) fn unreached(&mut self) -> Vec<String> {
        let usable = [
            Role::Button,
            Role::CheckBox,
            Role::ComboBox,
            Role::DisclosureTriangle,
            Role::RadioButton,
            Role::SpinButton,
            Role::TextInput,
            Role::MultilineTextInput,
            Role::ListBoxOption,
            Role::Canvas,
        ];
        let nodes = self.harness.query_all_by_label_contains("").map(|node| node.accesskit_node());
        let mut left: Vec<_> = nodes
            .filter(|node| usable.contains(&node.role()) && !node.is_disabled())
            .map(|node| (node.id(), node.label().unwrap_or_default()))
            .collect();
        assert!(!left.is_empty(), "nothing to be used");
        // Among controls that are one stop: the first of them, and the last but one that had the focus.
        let mut among: Option<[Option<(Role, String)>; 2]> = None;
        for _ in 0..2 * left.len() + 60 {
            if left.is_empty() {
                break;
            }
            let focused = self.focused();
            let key = match &among {
                _ if !self.is_among() => Key::Tab,
                None => Key::Home,
                Some(met) if met.contains(&focused) => Key::Tab,
                Some(_) if focused.as_ref().is_some_and(is_mark) => Key::Period,
                Some(_) => Key::ArrowDown,
            };
            self.harness.key_press(key);
            self.harness.run_steps(3);
            among = match (key, among) {
                (Key::Tab, _) => None,
                (Key::Home, _) => Some([None, None]),
                (_, Some([None, _])) => Some([focused.clone(), focused]),
                (_, Some([first, _])) => Some([first, focused]),
                (_, None) => None,
            };
            let nodes = self.harness.query_all_by_label_contains("").map(|node| node.accesskit_node());
            let now: Vec<_> = nodes.map(|node| (node.id(), node.is_focused())).collect();
            left.retain(|(id, _)| now.contains(&(*id, false)));
        }
        left.into_iter().map(|(_, label)| label).collect()
    }

    /// Types where the focus is.
    pub(crate) fn type_text(&mut self, text: &str) {
        self.harness.event(Event::Text(text.into()));
        self.settle();
    }

    /// Types into the field of this name, over what stood there.
    pub(crate) fn fill(&mut self, label: &str, text: &str) {
        self.field(label).focus();
        self.settle();
        self.press_with(Modifiers::COMMAND, Key::A);
        if text.is_empty() {
            return self.press(Key::Backspace);
        }
        self.type_text(text);
    }

    /// What stands in the field of this name.
    pub(crate) fn text_in(&self, label: &str) -> String {
        self.field(label).accesskit_node().value().unwrap_or_default()
    }

    fn field<'a>(&'a self, label: &'a str) -> egui_kittest::Node<'a> {
        let field = self.harness.query_all_by_label(label).find(|node| node.accesskit_node().is_text_input());
        field.unwrap_or_else(|| panic!("no field named {label} in {:#?}", self.labels()))
    }

    /// Types a path into the dialog that opens files, and opens it.
    pub(crate) fn open_by_path(&mut self, path: &Path) {
        self.press_with(Modifiers::COMMAND, Key::L);
        self.type_text(&path.display().to_string());
        self.press(Key::Enter);
    }

    /// Asks by keys and answers with a path, in the field that stands where no system dialog can be shown. On a busy
    /// machine the system's refusal can come so late that it looks like a person's; then it is asked again.
    pub(crate) fn answer(&mut self, (modifiers, key): (Modifiers, Key), label: &str, path: &Path) {
        for _ in 0..40 {
            self.press_with(modifiers, key);
            for _ in 0..100 {
                if self.shows(label) {
                    break;
                }
                std::thread::sleep(Duration::from_millis(5));
                self.harness.step();
            }
            if self.shows(label) {
                break;
            }
        }
        self.wait_for(label);
        self.press_with(Modifiers::COMMAND, Key::A);
        self.type_text(&path.display().to_string());
        self.press(Key::Enter);
    }

    /// Drops a file on the window.
    pub(crate) fn drop_file(&mut self, path: &Path) {
        self.harness.input_mut().dropped_files.push(std::sync::Arc::new(Dropped(path.to_owned())));
        self.settle();
    }

    /// Where a point of the photo lies on the screen while the whole photo of `size` pixels is shown.
    pub(crate) fn on_photo(&self, size: [f32; 2], at: [f32; 2]) -> Pos2 {
        let rect = self.harness.get_by_label_contains("Photo ").rect();
        let scale = (rect.width() / size[0]).min(rect.height() / size[1]) * 0.96;
        rect.center() + vec2(at[0] - size[0] / 2.0, at[1] - size[1] / 2.0) * scale
    }

    /// Drags from one point of the window to another.
    pub(crate) fn drag(&mut self, from: Pos2, to: Pos2) {
        let button = |pos, pressed| Event::PointerButton {
            pos,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        self.harness.event(Event::PointerMoved(from));
        self.harness.event(button(from, true));
        self.harness.event(Event::PointerMoved(from + (to - from) * 0.5));
        self.harness.event(Event::PointerMoved(to));
        self.harness.event(button(to, false));
        self.settle();
    }
}

/// Commands go among the marks, arrow keys among all else that is one stop.
fn is_mark((role, _): &(Role, String)) -> bool {
    *role == Role::ListBoxOption
}

#[derive(Debug)]
struct Dropped(PathBuf);

impl egui::DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|error| error.to_string())
    }
}
