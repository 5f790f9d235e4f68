//! A list of values that drops down, of which one is taken.

use egui::{AsIdSalt, ComboBox, Response, Ui};

/// What a list shows.
pub(super) struct Choosing<'a> {
    /// Width of what is seen of it while it is shut.
    pub width: f32,
    /// Whether it grows with what is taken; else that is cut.
    pub grows: bool,
    /// What is taken now, in words.
    pub now: &'a str,
    /// The values, and which one is taken now.
    pub values: Vec<(bool, String)>,
    /// What a screen reader says before each value.
    pub spoken: Option<&'a str>,
}

/// Shows the list. Answers with the place of another value that was taken. The list shuts and has the focus again,
/// whether it was a click or a key.
pub(super) fn choose(ui: &mut Ui, id: impl AsIdSalt, list: Choosing) -> (Option<usize>, Response) {
    let combo = ComboBox::from_id_salt(id).width(list.width).selected_text(list.now);
    let combo = if list.grows { combo } else { combo.truncate() };
    let shown = combo.show_ui(ui, |ui| {
        let mut pressed = None;
        for (at, (is_now, text)) in list.values.iter().enumerate() {
            let mut item = ui.selectable_label(*is_now, text);
            if let Some(spoken) = list.spoken {
                item = item.accessible_name(format!("{spoken}: {text}"));
            }
            if item.clicked() {
                pressed = Some(at);
            }
        }
        if pressed.is_some() {
            ui.close();
        }
        pressed
    });
    let pressed = shown.inner.flatten();
    if pressed.is_some() {
        shown.response.request_focus();
    }
    let is_now = |at: &usize| list.values.get(*at).is_some_and(|(is_now, _)| *is_now);
    (pressed.filter(|at| !is_now(at)), shown.response)
}
