use ndarray::Array2;

use super::*;
use crate::load::Samples;
use crate::session::Pixels;

/// A ramp from the top left to the bottom right, °C.
fn picture(width: usize, height: usize) -> ThermalImage {
    let ramp = |(y, x)| 20.0 + 50.0 * (x + y) as f32 / (width + height) as f32;
    of(Array2::from_shape_fn((height, width), ramp))
}

fn of(celsius: Array2<f32>) -> ThermalImage {
    ThermalImage {
        samples: Samples::F32(celsius),
        pixels: Pixels::Linear {
            step: 1.0,
            zero: 273.15,
        },
        container: "made up".to_owned(),
        assumed: None,
        pages: 1,
        captured: None,
        palette: None,
    }
}

fn labelled(ticks: &[Tick]) -> Vec<usize> {
    let labelled = ticks.iter().filter(|tick| tick.labelled);
    labelled.map(|tick| tick.at).collect()
}

const SIZES: [(usize, usize); 9] = [
    (1, 1),
    (2, 3),
    (80, 60),
    (160, 120),
    (240, 180),
    (640, 480),
    (1, 500),
    (500, 1),
    (12_345, 77),
];

#[test]
fn numbers_overlap_neither_each_other_nor_the_picture_and_stay_on_the_paper() {
    for (width, height) in SIZES {
        let plan = Plan::new(&Grid::of(&picture(width, height)), &"long name ".repeat(40));
        let paper = Area::new(0.0, 0.0, plan.size.0, plan.size.1);
        let labels = plan.labels();
        assert!(labels.len() >= 4, "{width} × {height}");
        for (index, (text, area)) in labels.iter().enumerate() {
            assert!(paper.holds(area), "{width} × {height}: {text}");
            assert!(!area.overlaps(&plan.picture), "{width} × {height}: {text}");
            assert!(!area.overlaps(&plan.legend), "{width} × {height}: {text}");
            for (other, its) in labels.iter().skip(index + 1) {
                assert!(!area.overlaps(its), "{width} × {height}: {text}, {other}");
            }
        }
        assert!(paper.holds(&plan.legend), "{width} × {height}");
        for (line, style) in &plan.title {
            assert!(super::width(line, *style) <= plan.size.0 - 2.0 * PAPER_EDGE);
        }
    }
}

#[test]
fn ticks_stand_at_round_coordinates() {
    let plan = |width, height| Plan::new(&Grid::of(&picture(width, height)), "");
    let small = plan(80, 60);
    assert_eq!(labelled(&small.across), [0, 10, 20, 30, 40, 50, 60, 70, 80]);
    assert_eq!(labelled(&small.down), [0, 10, 20, 30, 40, 50, 60]);
    assert_eq!(small.across.len(), 81, "one for each pixel");
    let large = plan(640, 480);
    assert_eq!(labelled(&large.across).get(..3), Some(&[0, 50, 100][..]));
    assert_eq!(labelled(&plan(1, 1).across), [0, 1]);
}

#[test]
fn lines_stand_on_the_edge_of_the_pixel_they_count() {
    // 80 × 60 pixels of one temperature are drawn eightfold; the line of x = 10 lies around 80.
    let image = of(Array2::from_elem((60, 80), 30.0));
    let plan = Plan::new(&Grid::of(&image), "");
    let bytes = grid(&image, "", &[]).unwrap();
    let drawn = image::load_from_memory(&bytes).unwrap().to_rgb8();
    let at = |x: u32, y: u32| {
        let (left, top) = (plan.picture.left as u32, plan.picture.top as u32);
        let sum = drawn.get_pixel(left + x, top + y).0;
        sum.into_iter().map(i32::from).sum::<i32>()
    };
    let ground = at(40, 40);
    assert_eq!(at(78, 40), ground);
    assert!(at(79, 40) < ground - 40, "dark");
    assert!(at(80, 40) > ground + 40, "light");
    assert_eq!(at(81, 40), ground);
    assert!(at(40, 79) < ground - 40 && at(40, 80) > ground + 40);
}

#[test]
fn every_picture_can_be_drawn() {
    for (width, height) in SIZES {
        let bytes = grid(&picture(width, height), "name.tiff", &[]).unwrap();
        let drawn = image::load_from_memory(&bytes).unwrap();
        let plan = Plan::new(&Grid::of(&picture(width, height)), "name.tiff");
        assert_eq!(drawn.width(), plan.size.0.ceil() as u32);
    }
    assert!(grid(&of(Array2::from_elem((60, 80), f32::NAN)), "none", &[]).is_ok());
    let nothing = grid(&of(Array2::zeros((0, 5))), "empty", &[]);
    assert_eq!(nothing, Err(PictureError::Empty));
}
