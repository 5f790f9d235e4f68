//! The areas of the window, and the keys that jump between them.

use egui::{FocusDirection, Memory, Rect, Ui};

/// Where the areas lie, in the order in which they are drawn.
#[derive(Debug, Default)]
pub(super) struct Areas {
    drawn: Vec<Rect>,
    before: Vec<Rect>,
    enter: Option<usize>,
}

impl Areas {
    /// A frame begins; where an area was asked for, the first control in it takes the keys.
    pub(super) fn begin(&mut self, ui: &Ui, asked: Option<bool>) {
        self.before = std::mem::take(&mut self.drawn);
        let Some(forwards) = asked.filter(|_| !self.before.is_empty()) else { return };
        let focused = ui.memory(Memory::focused).and_then(|id| ui.ctx().read_response(id));
        // What lies in none of them, as the last line does, counts to the bar at the top.
        let holds = |response: &egui::Response| {
            self.before.iter().position(|area| area.contains(response.rect.center()))
        };
        let now = focused.as_ref().and_then(holds).unwrap_or(0);
        let count = self.before.len();
        self.enter = Some(if forwards { now + 1 } else { now + count - 1 } % count);
    }

    /// An area is drawn that fills this rectangle.
    pub(super) fn draw<R>(&mut self, ui: &mut Ui, content: impl FnOnce(&mut Ui) -> (Rect, R)) -> R {
        if self.enter == Some(self.drawn.len()) {
            self.enter = None;
            ui.memory_mut(|memory| {
                if let Some(id) = memory.focused() {
                    memory.surrender_focus(id);
                }
                memory.move_focus(FocusDirection::Next);
            });
            ui.ctx().request_repaint();
        }
        let (rect, done) = content(ui);
        self.drawn.push(rect);
        done
    }
}
