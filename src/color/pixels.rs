//! Lab D50 of many pixels at once, in single precision.

/// Linear sRGB → X/Xn, Y/Yn, Z/Zn under D50: the matrix of `palette` (D65), Bradford's adaptation and the
/// division by the white in one. A test holds it against [`super::lab_in_d50_from_linear_srgb`].
const TO_RELATIVE_XYZ_IN_D50: [[f32; 3]; 3] = [
    [0.452_256_4, 0.399_353_8, 0.148_389_8],
    [0.222_504_5, 0.716_878_6, 0.060_616_94],
    [0.016_883_2, 0.117_672_49, 0.865_444_3],
];

/// Replaces each linear sRGB triple (1.0 = full scale) by its Lab D50 `[L*, a*, b*]`, within 0.001 of
/// the double-precision path for colours within the gamut.
pub fn linear_srgb_to_lab_in_d50(pixels: &mut [[f32; 3]]) {
    for pixel in pixels {
        let [x, y, z] = TO_RELATIVE_XYZ_IN_D50.map(|row| {
            let t = row[0] * pixel[0] + row[1] * pixel[1] + row[2] * pixel[2];
            lightness_curve(t)
        });
        *pixel = [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)];
    }
}

/// f(t) of CIE 15: the cube root above 216/24389, a straight line below.
fn lightness_curve(t: f32) -> f32 {
    const JOIN: f32 = 216.0 / 24389.0;
    const SLOPE: f32 = 24389.0 / 27.0 / 116.0;
    if t > JOIN { libm::cbrtf(t) } else { SLOPE * t + 16.0 / 116.0 }
}
