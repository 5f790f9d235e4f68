//! What scrolls: by wheel and drag, by PageUp and PageDown, and to whatever the keys go to.

use egui::style::ScrollAnimation;
use egui::{Key, Memory, ScrollArea, Ui, vec2};

/// Content that scrolls in all the room there is.
pub(super) fn scrolled<R>(ui: &mut Ui, id: &str, content: impl FnOnce(&mut Ui) -> R) -> R {
    let area = ScrollArea::vertical().id_salt(id).auto_shrink(false);
    let shown = area.show(ui, |ui| {
        by_keys(ui);
        let done = content(ui);
        show_focused(ui);
        done
    });
    shown.inner
}

/// Scrolls by the keys that nothing else has a use for, unless text is typed or a sheet stands in front. To be called
/// inside of what scrolls.
pub(super) fn by_keys(ui: &Ui) {
    let in_front = ui.memory(|memory| memory.allows_interaction(ui.layer_id()));
    if !in_front || ui.ctx().text_edit_focused() {
        return;
    }
    let pages = ui.input(|input| {
        let presses = |key| input.num_presses(key) as f32;
        presses(Key::PageUp) - presses(Key::PageDown)
    });
    if pages != 0.0 {
        let page = ui.clip_rect().height() * 0.9;
        ui.scroll_with_delta_animation(vec2(0.0, pages * page), ScrollAnimation::none());
    }
}

/// Scrolls to what the keys have just gone to, so that nobody works out of sight.
fn show_focused(ui: &Ui) {
    let focused = ui.memory(Memory::focused).and_then(|id| ui.ctx().read_response(id));
    let Some(response) = focused.filter(egui::Response::gained_focus) else { return };
    // One that is whole is in sight already, or stands somewhere else.
    let is_cut = !response.interact_rect.contains_rect(response.rect);
    if is_cut && ui.min_rect().contains(response.rect.center()) {
        ui.scroll_to_rect_animation(response.rect, None, ScrollAnimation::none());
    }
}
