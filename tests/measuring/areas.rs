//! Photographs of a colour chart: patches read as areas agree with the values measured there by other software.

use std::collections::BTreeMap;

use sameshot::photo::{Photo, read};
use sameshot::raster::{Samples, Shape};

use crate::chart_photos::chart_photos;

/// Medians of the coded sRGB values 0..1 over the pixels of a shape.
fn medians(photo: &Photo, shape: &Shape) -> [f64; 3] {
    let raster = &photo.raster;
    let Samples::U8(codes) = raster.samples() else { panic!("the chart photos have 8 bit") };
    let mut channels: [Vec<u8>; 3] = Default::default();
    for span in shape.spans(raster.width(), raster.height(), 0.0) {
        for x in span.x_start..span.x_end {
            let at = (span.y * raster.width() + x) as usize * 3;
            for (channel, &code) in channels.iter_mut().zip(&codes[at..at + 3]) {
                channel.push(code);
            }
        }
    }
    channels.map(|mut values| {
        values.sort_unstable();
        f64::from(values[values.len() / 2]) / 255.0
    })
}

/// `patches.csv`: position and half side in pixels, medians of coded sRGB measured with other software.
#[test]
fn areas_agree_with_the_measured_medians() {
    let Some(folder) = chart_photos() else { return };
    let mut photos: BTreeMap<String, Photo> = BTreeMap::new();
    let mut worst: (f64, String) = (0.0, String::new());
    let mut count = 0;
    for row in csv::Reader::from_path(folder.join("patches.csv")).unwrap().records() {
        let row = row.unwrap();
        let number = |i: usize| row[i].parse::<f64>().unwrap();
        let photo = photos
            .entry(row[0].to_owned())
            .or_insert_with(|| read(&folder.join(&row[0])).unwrap_or_else(|error| panic!("{error}")));
        let (x, y, half) = (number(4), number(5), number(6));
        let shape = Shape::Rect { min: [x - half, y - half], max: [x + half, y + half] };
        let expected = [number(7), number(8), number(9)];
        for (got, expected) in medians(photo, &shape).into_iter().zip(expected) {
            let off = (got - expected).abs();
            if off > worst.0 {
                worst = (off, format!("{} {}", &row[0], &row[1]));
            }
        }
        count += 1;
    }
    for (name, photo) in &photos {
        let facts = &photo.facts;
        println!(
            "{name}: {:?}, profile {:?}, subsampled {}",
            facts.camera, facts.profile, facts.chroma_subsampled
        );
    }
    println!("{count} patches, at most {:.4} away ({})", worst.0, worst.1);
    assert_eq!(count, 8 * 24);
    assert!(worst.0 < 0.01, "{worst:?}");
}
