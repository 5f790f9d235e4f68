//! What each command does.

use crate::case::{Edit, MarkKind};

use super::{Command, Front};
use crate::app::action::{Action, Ask, CardSheet, Next, Sheet, Tab, Tool};
use crate::app::bench::view::{View, ZOOM_STEP};
use crate::app::card;
use crate::app::guide::action::GuideAction;
use crate::app::marks;
use crate::app::session::Session;
use crate::app::state::State;
use crate::app::tray::act::TrayAction;

/// Runs a command. One that makes no sense now does nothing.
pub(in crate::app) fn run(state: &mut State, command: Command) {
    if state.why_not(command).is_some() {
        return;
    }
    state.bring_photo_for(command);
    match command {
        Command::Open => state.ask = Some(Ask::Open),
        Command::OpenPath => state.sheet = Some(Sheet::OpenPath(String::new())),
        Command::Save if state.front() == Front::Guide => state.act_on_guide(GuideAction::Save),
        Command::Save => state.save(),
        Command::SaveAs => state.ask = Some(Ask::Save),
        Command::Quit => state.leave_for(Next::Quit),
        Command::Undo => state.undo(),
        Command::Redo => state.redo(),
        Command::ToolChoose => take(state, Tool::Choose),
        Command::ToolCircle => take(state, Tool::Circle),
        Command::ToolBox => take(state, Tool::Box),
        Command::ToolPolygon => take(state, Tool::Polygon),
        Command::MarkCard => take(state, Tool::Card),
        Command::ToolGrow => take_with_keys(state, Tool::Grow),
        Command::ToolCut => take_with_keys(state, Tool::Cut),
        Command::RedrawPart => {
            if let Some(number) = state.chosen_part().map(|part| part.number) {
                state.act(Action::Tray(TrayAction::Redraw(number)));
            }
        }
        Command::FindCard => state.look_for(false),
        Command::FindParts => state.look_for(true),
        Command::SortFolder => {
            let folder = state.session.as_ref().map(Session::folder).unwrap_or_default();
            state.sheet = Some(Sheet::SortFolder(folder.display().to_string(), String::new()));
        }
        Command::DrawParts => state.draws = MarkKind::Reading,
        Command::DrawKnown => state.draws = MarkKind::Zone,
        Command::CardList => {
            let list = card::write_list(&state.card);
            state.sheet = Some(Sheet::CardList(CardSheet { list, ..CardSheet::default() }));
        }
        Command::CardPage => state.ask_for_card_page(),
        Command::SpreadSteps => state.spread_steps(),
        Command::NewMark => {
            let middle = state.current_view().map(|view| view.centre_px);
            let clicked = middle.is_some_and(|middle| state.click_with_tool(middle));
            if let Some(shape) = state.shape_in_view().filter(|_| !clicked) {
                state.draw(shape);
            }
        }
        Command::DeleteMark if !state.corners.is_empty() => {
            state.corners.pop();
        }
        Command::DeleteMark => delete(state),
        Command::NextMark => walk(state, true),
        Command::PreviousMark => walk(state, false),
        Command::NameMark if !state.corners.is_empty() => state.act(Action::EndPolygon { keep: true }),
        Command::NameMark => state.focus_name = selected(state),
        Command::LetGo if state.message.is_some() => state.message = None,
        Command::LetGo if state.collection.shown => state.collection.shown = false,
        Command::LetGo if state.beside.is_some() => state.beside = None,
        Command::LetGo if !state.corners.is_empty() => state.corners.clear(),
        Command::LetGo => {
            state.tool = Tool::Choose;
            state.tray.let_go();
        }
        Command::ZoomIn => zoom(state, ZOOM_STEP),
        Command::ZoomOut => zoom(state, 1.0 / ZOOM_STEP),
        Command::ZoomFit => state.look_with(|_, photo_px, bench| View::fit(photo_px, bench)),
        Command::ZoomActual => state.look_with(View::actual_size),
        Command::ChooseReferences => state.ask = Some(Ask::References),
        Command::ChooseGuide => state.ask = Some(Ask::Guide),
        Command::ChooseEmptyBoard => state.ask = Some(Ask::EmptyBoard),
        Command::ChooseOtherPhoto => state.ask = Some(Ask::OtherPhoto),
        Command::Board => state.toggle_board(),
        Command::ShowCollection => state.toggle_collection(),
        Command::ChooseCollection => state.ask = Some(Ask::Collection),
        Command::AddToCollection => state.begin_record(),
        Command::Report => state.ask = Some(Ask::Report),
        // The same key leads back.
        Command::EditGuide if state.front() == Front::Guide => state.put_guide_behind(),
        Command::EditGuide => state.edit_guide(),
        Command::NewGuide => state.new_guide(),
        Command::ShowParts => state.tab = Tab::Parts,
        Command::ShowPairs => state.tab = Tab::Pairs,
        Command::ShowPhoto => state.tab = Tab::Photo,
        Command::ShowFamily => state.tab = Tab::Family,
        Command::ShowFigure => state.tab = Tab::Figure,
        Command::ShowTray => state.tab = Tab::Tray,
        Command::ShadeMap => state.toggle_shade_map(),
        Command::LightLines => state.light_layer.shown = !state.light_layer.shown,
        Command::Compare => state.ask = Some(Ask::Compare),
        Command::Magnifier => state.magnifier = !state.magnifier,
        Command::ToggleTheme => state.toggle_theme = true,
        Command::NextArea => state.next_area = Some(true),
        Command::AreaBefore => state.next_area = Some(false),
        Command::ShowKeys => state.sheet = Some(Sheet::Keys),
    }
}

fn take(state: &mut State, tool: Tool) {
    state.tool = tool;
    state.corners.clear();
    state.tray.let_go();
}

/// A tool that keys use, too: they move the photo under the cross in the middle.
fn take_with_keys(state: &mut State, tool: Tool) {
    take(state, tool);
    state.tray.focus_bench = true;
}

fn selected(state: &State) -> bool {
    state.session.as_ref().is_some_and(|session| session.selected().is_some())
}

fn delete(state: &mut State) {
    if state.drop_chosen() {
        return;
    }
    let mark = state.session.as_ref().and_then(|session| session.selected().cloned());
    if let Some(mark) = mark {
        state.try_edit(|session| session.edit(Edit::Delete(mark)));
    }
}

fn walk(state: &mut State, forwards: bool) {
    let Some(session) = &mut state.session else { return };
    let next = marks::neighbour(session.case(), session.selected(), forwards);
    session.select(next);
    state.focus_mark = true;
    state.reveal_mark = true;
}

/// Scrolls to the selected mark.
pub(in crate::app) fn show_selected(state: &mut State) {
    let Some((view, photo_px)) = state.current_view().zip(state.photo_px()) else { return };
    let Some(session) = &state.session else { return };
    let shape = session.selected().and_then(|mark| marks::shape(session.case(), mark));
    if let Some((low, high)) = shape.map(crate::raster::Shape::bounds) {
        state.view = Some(view.showing(photo_px, &state.bench, low, high));
    }
}

fn zoom(state: &mut State, factor: f64) {
    state.look_with(|view, photo_px, bench| {
        let middle = [0, 1].map(|axis| bench.min[axis] + bench.size[axis] / 2.0);
        view.zoomed(photo_px, bench, factor, middle)
    });
}
