//! Brings a picture to another size.

use opencv::core::{Mat, MatTraitConst, Size, ToInputArray};
use opencv::imgproc;

use crate::Result;

/// `picture` at `size`. Where it becomes smaller, every new pixel is the mean of those that it stands
/// for; where larger, it is drawn between them.
///
/// It is halved as often as that fits, which OpenCV does many times faster than any other step.
///
/// # Errors
/// [`crate::Error::Video`] when the picture cannot be worked on.
pub fn reduced(picture: &(impl MatTraitConst + ToInputArray), size: Size) -> Result<Mat> {
    let whole = Size::new(picture.cols(), picture.rows());
    let Some(half) = half_of(whole, size) else {
        return resized(picture, size);
    };
    let mut now = resized(picture, half)?;
    while let Some(half) = half_of(now.size()?, size) {
        now = resized(&now, half)?;
    }
    if now.size()? == size {
        return Ok(now);
    }
    resized(&now, size)
}

/// At most this long, and so that it can be halved three times where that hardly counts.
pub fn halvable(length: i32) -> i32 {
    if length >= 160 { length & !7 } else { length }
}

/// Half of a size, where that is whole and not below the least size wanted.
fn half_of(size: Size, least: Size) -> Option<Size> {
    let half = Size::new(size.width / 2, size.height / 2);
    let even = size.width % 2 == 0 && size.height % 2 == 0;
    (even && half.width >= least.width && half.height >= least.height).then_some(half)
}

fn resized(picture: &(impl MatTraitConst + ToInputArray), size: Size) -> Result<Mat> {
    let whole = Size::new(picture.cols(), picture.rows());
    let way = if size.width < whole.width {
        imgproc::INTER_AREA
    } else {
        imgproc::INTER_LINEAR
    };
    let mut out = Mat::default();
    imgproc::resize(picture, &mut out, size, 0.0, 0.0, way)?;
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::reduced;
    use opencv::core::{self, CV_8U, Mat, MatTraitConst, Scalar, Size};

    #[test]
    fn a_reduced_picture_keeps_its_mean_and_its_place() {
        let mut picture =
            Mat::new_rows_cols_with_default(90, 160, CV_8U, Scalar::all(40.0)).unwrap();
        let mut right = Mat::roi_mut(&mut picture, core::Rect::new(80, 0, 80, 90)).unwrap();
        opencv::prelude::MatTrait::set_scalar(&mut right, Scalar::all(200.0)).unwrap();
        let small = reduced(&picture, Size::new(33, 19)).unwrap();
        assert_eq!(small.size().unwrap(), Size::new(33, 19));
        assert_eq!(*small.at_2d::<u8>(9, 15).unwrap(), 40);
        assert_eq!(*small.at_2d::<u8>(9, 17).unwrap(), 200);
        // the middle pixel lies half on either side
        assert!((i32::from(*small.at_2d::<u8>(9, 16).unwrap()) - 120).abs() < 5);
    }
}
