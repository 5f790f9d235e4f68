//! The keys of commands, taken out of the input.

use egui::Key;

use super::{Command, all};

/// Takes the keys of those commands that can run now. While text is typed, keys that write belong to the text; Enter
/// belongs to whatever has the focus, unless that is the photo or a mark on it.
pub(in crate::app) fn pressed(
    ctx: &egui::Context,
    keys_on_bench: bool,
    can_run: impl Fn(Command) -> bool,
) -> Vec<Command> {
    let typing = ctx.text_edit_focused();
    let mut found = Vec::new();
    ctx.input_mut(|input| {
        // The longest combination first: Ctrl+Shift+Z must not be taken for Ctrl+Z.
        for shifted in [true, false] {
            for entry in all().filter(|entry| can_run(entry.command)) {
                for keys in entry.keys.iter().filter(|keys| keys.modifiers.shift == shifted) {
                    let function = keys.logical_key >= Key::F1 && keys.logical_key <= Key::F12;
                    let for_text = typing && !keys.modifiers.command && !function;
                    let for_widget = keys.logical_key == Key::Enter && !keys_on_bench;
                    if !for_text && !for_widget && input.consume_shortcut(keys) {
                        found.push(entry.command);
                    }
                }
            }
        }
    });
    found
}
