//! Many controls of one kind as one stop of Tab: the arrow keys go among them, and Tab goes on to what follows.

use egui::{EventFilter, FocusDirection, Id, Key, Memory, Modifiers, Response, Ui};

/// The controls, in their order, as they are drawn.
pub(super) struct Members {
    ids: Vec<Id>,
    chosen: Option<Id>,
}

impl Members {
    /// Another one; the one that is chosen is where Tab arrives.
    pub(super) fn add(&mut self, response: &Response, chosen: bool) {
        self.ids.push(response.id);
        if chosen {
            self.chosen = Some(response.id);
        }
    }
}

/// What the arrow keys do among the controls.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Arrows {
    /// They stand in rows of so many.
    Rows(usize),
    /// Something of their own.
    Theirs,
}

/// What is kept of a group from frame to frame.
#[derive(Clone, Default)]
struct Kept {
    ids: Vec<Id>,
    last: Option<Id>,
    arrives_from_behind: bool,
    next: Option<Id>,
}

/// Draws controls that are one stop of Tab.
pub(super) fn one_stop<R>(
    ui: &mut Ui,
    name: &str,
    arrows: Arrows,
    content: impl FnOnce(&mut Ui, &mut Members) -> R,
) -> R {
    let key = ui.scope_id().with(name);
    let before: Kept = ui.data(|data| data.get_temp(key)).unwrap_or_default();
    // Before any of them is drawn, so that it sees that it has gained the focus, and scrolls.
    take(ui, before.next);
    let inside = ui.memory(Memory::focused).filter(|id| before.ids.contains(id));
    let pressed = |modifiers| ui.input(|i| i.key_pressed(Key::Tab) && i.modifiers == modifiers);
    let (on, back) = (pressed(Modifiers::NONE), pressed(Modifiers::SHIFT));
    if let (Some(id), true) = (inside, back) {
        // The first of them leaves it to what stands before.
        ui.memory_mut(|memory| {
            memory.surrender_focus(id);
            memory.move_focus(FocusDirection::Previous);
        });
    } else if inside.is_some() && on {
        // Tab goes on from the last of them.
        take(ui, before.ids.last().copied());
    }
    let mut members = Members { ids: Vec::new(), chosen: None };
    let done = content(ui, &mut members);
    let focused = ui.memory(Memory::focused).filter(|id| members.ids.contains(id));
    let mut next = None;
    if focused.is_some() && ((on && inside.is_none()) || before.arrives_from_behind) {
        let last = before.last.filter(|id| members.ids.contains(id));
        take(ui, members.chosen.or(last).or(members.ids.first().copied()));
    } else if let (Some(id), Arrows::Rows(across)) = (focused, arrows) {
        next = by_arrows(ui, &members.ids, id, across);
        if next.is_some() {
            ui.ctx().request_repaint();
        }
    }
    let focused = ui.memory(Memory::focused).filter(|id| members.ids.contains(id));
    let arrives_from_behind = back && inside.is_none();
    let kept = Kept { last: focused.or(before.last), ids: members.ids, arrives_from_behind, next };
    ui.data_mut(|data| data.insert_temp(key, kept));
    done
}

fn take(ui: &Ui, id: Option<Id>) {
    if let Some(id) = id {
        ui.memory_mut(|memory| memory.request_focus(id));
        ui.ctx().request_repaint();
    }
}

/// Where the arrow keys lead from the one in focus; nowhere at the ends.
fn by_arrows(ui: &Ui, ids: &[Id], focused: Id, across: usize) -> Option<Id> {
    let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(focused, filter));
    let at = ids.iter().position(|id| *id == focused)?;
    let pressed = |key| ui.input(|input| input.modifiers.is_none() && input.key_pressed(key));
    let to = match () {
        () if pressed(Key::ArrowRight) => at + 1,
        () if pressed(Key::ArrowDown) => at + across,
        () if pressed(Key::ArrowLeft) => at.checked_sub(1)?,
        () if pressed(Key::ArrowUp) => at.checked_sub(across)?,
        () if pressed(Key::Home) => 0,
        () if pressed(Key::End) => ids.len() - 1,
        () => return None,
    };
    ids.get(to).copied()
}
