//! Opens the system's window and hands it to [`Window`].

use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

use super::frame_times::FrameTimes;
use super::libraries::{self, Desktop};
use super::window::{Begun, Start, Window};

/// Opens the window, with a photo or a case where a path is given; returns when it is closed.
pub fn run(path: Option<&Path>) -> ExitCode {
    if cfg!(target_os = "linux")
        && let Some(trouble) = trouble_on_linux()
    {
        tell(&trouble);
        return ExitCode::from(2);
    }
    let began = Instant::now();
    // Without a folder nothing is kept, which is told when the first copy would be due; the window works.
    let start = Start {
        path: path.map(Path::to_owned),
        data_folder: crate::storage::data_folder().ok(),
        config_folder: crate::storage::config_folder().ok(),
    };
    let begun = Begun::new(&start);
    let viewport = egui::ViewportBuilder::default()
        .with_title("Sameshot")
        .with_app_id("sameshot")
        .with_inner_size([1280.0, 800.0])
        .with_min_inner_size([720.0, 480.0])
        .with_drag_and_drop(true);
    let options = eframe::NativeOptions { viewport, ..Default::default() };
    let result = eframe::run_native(
        "Sameshot",
        options,
        Box::new(move |context| {
            let window = Window::show(&context.egui_ctx, begun);
            Ok(Box::new(Framed { window, title: String::new(), times: FrameTimes::asked_for(began) }))
        }),
    );
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            tell(&format!(
                "The window cannot open: {error}.\nCheck that the display and its OpenGL driver work (glxinfo). \
                 The command line works without them: sameshot --help"
            ));
            ExitCode::from(2)
        }
    }
}

fn trouble_on_linux() -> Option<String> {
    let desktop = Desktop::of_this_session();
    if desktop == Desktop::None {
        return Some(
            "The window cannot open: there is no display (neither DISPLAY nor WAYLAND_DISPLAY is set).\nStart it \
             from a desktop session, or use the command line: sameshot --help"
                .into(),
        );
    }
    let missing = libraries::missing(desktop, &libraries::folders());
    (!missing.is_empty()).then(|| libraries::advice(&missing))
}

#[allow(clippy::print_stderr)] // There is no window to tell it in.
fn tell(text: &str) {
    eprintln!("{text}");
}

struct Framed {
    window: Window,
    title: String,
    times: Option<FrameTimes>,
}

impl eframe::App for Framed {
    fn ui(&mut self, ui: &mut egui::Ui, frame: &mut eframe::Frame) {
        if let Some(times) = &mut self.times {
            times.note(frame.info().cpu_usage, self.window.shows_photo());
        }
        if ui.input(|input| input.viewport().close_requested()) && !self.window.may_close() {
            ui.ctx().send_viewport_cmd(egui::ViewportCommand::CancelClose);
        }
        self.window.ui(ui);
        let title = self.window.title();
        if title != self.title {
            ui.ctx().send_viewport_cmd(egui::ViewportCommand::Title(title.clone()));
            self.title = title;
        }
        if self.window.has_quit() {
            ui.ctx().send_viewport_cmd(egui::ViewportCommand::Close);
        }
    }
}
