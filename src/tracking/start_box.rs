//! The user's box round the lure.

use crate::{Error, Result};

/// Where the lure is at one moment of the clip, in pixels of the displayed picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StartBox {
    /// Left edge, px.
    pub x: f64,
    /// Upper edge, px.
    pub y: f64,
    /// Width, px.
    pub w: f64,
    /// Height, px.
    pub h: f64,
    /// At what time of the clip, s of real time.
    pub t_s: f64,
}

/// Shortest box that can hold a lure worth measuring, px.
const SHORTEST: f64 = 10.0;

/// A box over more of the picture than this marks nothing.
const MOST_OF_PICTURE: f64 = 0.5;

impl StartBox {
    /// Middle of the box, px.
    pub fn centre(&self) -> [f64; 2] {
        [self.x + self.w / 2.0, self.y + self.h / 2.0]
    }

    /// Its diagonal, px.
    pub fn diagonal(&self) -> f64 {
        self.w.hypot(self.h)
    }

    /// The box so many times as large about the same middle.
    pub fn grown(&self, times: f64) -> StartBox {
        let [x, y] = self.centre();
        let (w, h) = (times * self.w, times * self.h);
        StartBox {
            x: x - w / 2.0,
            y: y - h / 2.0,
            w,
            h,
            t_s: self.t_s,
        }
    }

    /// The part of it that lies in a picture of `width` × `height` px.
    pub fn inside(&self, [width, height]: [f64; 2]) -> StartBox {
        let (x, y) = (self.x.clamp(0.0, width), self.y.clamp(0.0, height));
        StartBox {
            x,
            y,
            w: (self.x + self.w).clamp(x, width) - x,
            h: (self.y + self.h).clamp(y, height) - y,
            t_s: self.t_s,
        }
    }

    /// Whether a picture point lies in it.
    pub fn holds(&self, x: f64, y: f64) -> bool {
        x >= self.x && y >= self.y && x <= self.x + self.w && y <= self.y + self.h
    }

    /// Refuses a box that does not lie in a picture of this size or is too small for a lure.
    ///
    /// # Errors
    /// [`Error::Setting`] for `--box`.
    pub fn check_inside(&self, width: u32, height: u32) -> Result<()> {
        let (width, height) = (f64::from(width), f64::from(height));
        let option = format!("--box {},{},{},{}", self.x, self.y, self.w, self.h);
        // a box from another program may end on the picture's very edge, rounded up
        let inside = self.x >= -1.0
            && self.y >= -1.0
            && self.x + self.w <= width + 1.0
            && self.y + self.h <= height + 1.0;
        if !inside {
            return Err(Error::setting(
                option,
                format!("reaches out of the picture, which is {width} × {height}"),
                "give x,y of its upper left corner, then width and height, in pixels of the picture \
                 as it is shown",
            ));
        }
        if self.w * self.h > MOST_OF_PICTURE * width * height {
            return Err(Error::setting(
                option,
                "takes in most of the picture",
                "draw it closely round the lure",
            ));
        }
        if self.w.max(self.h) < SHORTEST {
            return Err(Error::setting(
                option,
                "is too small to hold a lure that can be measured",
                format!("draw it round the whole lure, at least {SHORTEST} px long"),
            ));
        }
        Ok(())
    }
}
