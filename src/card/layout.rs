//! Where everything lies on a card, in millimetres from its upper left corner; x to the right, y down.

use super::codes::{CELLS, PATTERNS, is_white};

/// A card as it can be printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Variant {
    /// Greys, marks and ruler.
    Plain,
    /// The same with boxes below in which the person lays parts of known shade.
    WithStrip,
}

/// An upright rectangle in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RectMm {
    /// Upper left corner.
    pub min: [f64; 2],
    /// Width and height.
    pub size: [f64; 2],
}

impl RectMm {
    /// A rectangle from its upper left corner and its size.
    pub const fn new(min: [f64; 2], size: [f64; 2]) -> Self {
        Self { min, size }
    }

    /// Its middle.
    pub fn centre(&self) -> [f64; 2] {
        [self.min[0] + self.size[0] / 2.0, self.min[1] + self.size[1] / 2.0]
    }

    /// Its corners, clockwise from the upper left.
    pub fn corners(&self) -> [[f64; 2]; 4] {
        let [[x, y], [w, h]] = [self.min, self.size];
        [[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
    }

    /// The same middle, each side shorter by twice `by`.
    pub fn shrunk(&self, by: f64) -> Self {
        let [x, y] = self.min;
        let [w, h] = self.size;
        Self { min: [x + by, y + by], size: [w - 2.0 * by, h - 2.0 * by] }
    }
}

/// A corner mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// Its black square, rim included.
    pub square: RectMm,
    /// Its bits.
    pub pattern: u16,
}

/// One grey square.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Its place in the ladder, 1 the lightest; also its name, "step 1".
    pub number: usize,
    /// L\* it is printed for.
    pub lightness: f64,
    /// Where it lies.
    pub square: RectMm,
}

/// Everything on a card.
#[derive(Debug, Clone, PartialEq)]
pub struct CardLayout {
    /// Which card.
    pub variant: Variant,
    /// Width and height.
    pub size_mm: [f64; 2],
    /// Corner marks, clockwise from the upper left.
    pub marks: [Mark; 4],
    /// The ladder, from left to right.
    pub steps: Vec<Step>,
    /// The ruler: left end of its base line, and its length.
    pub ruler: ([f64; 2], f64),
    /// Boxes for known parts, from left to right.
    pub boxes: Vec<RectMm>,
}

/// L\* of the steps, light to dark.
pub const LADDER: [f64; 8] = [90.0, 79.0, 68.0, 57.0, 47.0, 38.0, 30.0, 24.0];
/// Numbers of the steps from left to right. Neither a slope of the light along the card nor a bulge of it can
/// pass for a bend of the camera's tone curve: both are uncorrelated with the ladder.
pub const ORDER: [usize; 8] = [4, 7, 1, 6, 3, 8, 2, 5];
/// Side of a step.
pub const STEP_MM: f64 = 10.0;
/// Side of a mark's cell.
pub const CELL_MM: f64 = 2.0;
/// Side of a mark.
pub const MARK_MM: f64 = CELL_MM * CELLS as f64;

const WIDTH_MM: f64 = 130.0;
const PLAIN_HEIGHT_MM: f64 = 46.0;
const STRIP_HEIGHT_MM: f64 = 98.0;
/// Paper left white between a mark and the edge of the card: more than a cell.
const MARGIN_MM: f64 = 3.0;
const STEP_TOP_MM: f64 = 6.0;
const STEP_PITCH_MM: f64 = 12.0;
const FIRST_STEP_MM: f64 = 18.0;

impl Variant {
    /// Both, in the order of their patterns.
    pub const ALL: [Self; 2] = [Self::Plain, Self::WithStrip];

    /// The variant's layout.
    pub fn layout(self) -> CardLayout {
        let height = match self {
            Variant::Plain => PLAIN_HEIGHT_MM,
            Variant::WithStrip => STRIP_HEIGHT_MM,
        };
        let (right, low) = (WIDTH_MM - MARGIN_MM - MARK_MM, height - MARGIN_MM - MARK_MM);
        let at = [[MARGIN_MM, MARGIN_MM], [right, MARGIN_MM], [right, low], [MARGIN_MM, low]];
        let mark =
            |n: usize| Mark { square: RectMm::new(at[n], [MARK_MM; 2]), pattern: PATTERNS[self as usize][n] };
        let step = |(place, number): (usize, &usize)| Step {
            number: *number,
            lightness: LADDER[number - 1],
            square: RectMm::new([FIRST_STEP_MM + STEP_PITCH_MM * place as f64, STEP_TOP_MM], [STEP_MM; 2]),
        };
        let boxes = match self {
            Variant::Plain => 0,
            Variant::WithStrip => 4,
        };
        CardLayout {
            variant: self,
            size_mm: [WIDTH_MM, height],
            marks: [0, 1, 2, 3].map(mark),
            steps: ORDER.iter().enumerate().map(step).collect(),
            ruler: ([20.0, 42.0], 90.0),
            boxes: (0..boxes)
                .map(|n| RectMm::new([17.5 + 24.0 * f64::from(n), 49.0], [23.0, 46.0]))
                .collect(),
        }
    }
}

/// What is printed somewhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// As dark as the printer can.
    Black,
    /// The step of this number.
    Step(usize),
}

impl CardLayout {
    /// All filled rectangles of the card: marks, steps, ruler. Words are added on the page only.
    pub fn fills(&self) -> Vec<(RectMm, Tone)> {
        let mut fills: Vec<(RectMm, Tone)> =
            self.marks.iter().flat_map(black_runs).map(|rect| (rect, Tone::Black)).collect();
        fills.extend(self.steps.iter().map(|step| (step.square, Tone::Step(step.number))));
        fills.extend(self.ruler_ticks().into_iter().map(|rect| (rect, Tone::Black)));
        fills
    }

    /// A tick each millimetre, longer each 5 and 10.
    fn ruler_ticks(&self) -> Vec<RectMm> {
        const TICK_MM: f64 = 0.2;
        let ([x, y], length) = self.ruler;
        let tick = |mm: u32| {
            let height = match mm {
                mm if mm % 10 == 0 => 3.4,
                mm if mm % 5 == 0 => 2.4,
                _ => 1.5,
            };
            RectMm::new([x + f64::from(mm) - TICK_MM / 2.0, y - height], [TICK_MM, height])
        };
        (0..=length as u32).map(tick).collect()
    }
}

/// The black cells of a mark, those side by side in a row as one rectangle.
fn black_runs(mark: &Mark) -> Vec<RectMm> {
    let mut runs = Vec::new();
    for row in 0..CELLS {
        let mut column = 0;
        while column < CELLS {
            let length = (column..CELLS).take_while(|c| !is_white(mark.pattern, row, *c)).count();
            if length > 0 {
                let corner = [column, row].map(|n| n as f64 * CELL_MM);
                let min = [mark.square.min[0] + corner[0], mark.square.min[1] + corner[1]];
                runs.push(RectMm::new(min, [length as f64 * CELL_MM, CELL_MM]));
            }
            column += length.max(1);
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_overlaps_and_all_lies_on_the_card() {
        for variant in Variant::ALL {
            let card = variant.layout();
            let marks = card.marks.iter().map(|mark| mark.square.shrunk(-CELL_MM));
            let steps = card.steps.iter().map(|step| step.square);
            let ticks = card.ruler_ticks().into_iter().take(1);
            let all: Vec<RectMm> =
                marks.chain(steps).chain(ticks).chain(card.boxes.iter().copied()).collect();
            for (n, a) in all.iter().enumerate() {
                let high = [a.min[0] + a.size[0], a.min[1] + a.size[1]];
                assert!(
                    a.min.iter().all(|v| *v >= 0.0)
                        && high[0] <= card.size_mm[0]
                        && high[1] <= card.size_mm[1]
                );
                for b in &all[..n] {
                    let apart = (0..2).any(|axis| {
                        a.min[axis] >= b.min[axis] + b.size[axis] || b.min[axis] >= a.min[axis] + a.size[axis]
                    });
                    assert!(apart, "{variant:?}: {a:?} {b:?}");
                }
            }
        }
    }

    #[test]
    fn slopes_and_bulges_of_the_light_are_uncorrelated_with_the_ladder() {
        let mean = 4.5;
        for power in [1, 2] {
            let along = |place: usize| (place as f64 - 3.5).powi(power);
            let sum: f64 = ORDER.iter().enumerate().map(|(place, n)| along(place) * (*n as f64 - mean)).sum();
            assert_eq!(sum, 0.0, "power {power}");
        }
        let mut sorted = ORDER;
        sorted.sort_unstable();
        assert_eq!(sorted, [1, 2, 3, 4, 5, 6, 7, 8]);
    }
}
