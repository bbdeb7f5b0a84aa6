//! The container's display matrix, read as one of the eight ways to lay a picture.

/// How a stored picture is laid to be displayed: first transposed, then mirrored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Orientation {
    /// Rows become columns.
    pub transpose: bool,
    /// Left and right are swapped (after the transposition).
    pub mirror_x: bool,
    /// Top and bottom are swapped (after the transposition).
    pub mirror_y: bool,
}

impl Orientation {
    /// Reads a display matrix: nine numbers, row by row, of which the first two of the first two
    /// rows turn the picture: `x' = m[0]·x + m[3]·y`, `y' = m[1]·x + m[4]·y` with y down
    /// (FFmpeg's `libavutil/display.h`). Turns that are not a multiple of 90° go to the nearest
    /// one, an all-zero matrix leaves the picture as it is.
    pub fn from_display_matrix(m: &[i32; 9]) -> Self {
        let [xx, yx, xy, yy] = [m[0], m[1], m[3], m[4]].map(i64::from);
        let transpose = xx.abs() + yy.abs() < xy.abs() + yx.abs();
        let (to_x, to_y) = if transpose { (xy, yx) } else { (xx, yy) };
        Orientation {
            transpose,
            mirror_x: to_x < 0,
            mirror_y: to_y < 0,
        }
    }

    /// Reads the matrix as it lies in a file's side data: nine native-endian 32-bit integers.
    /// Anything shorter leaves the picture as it is.
    pub fn from_side_data(bytes: &[u8]) -> Self {
        let mut matrix = [0i32; 9];
        if bytes.len() < 4 * matrix.len() {
            return Orientation::default();
        }
        for (number, raw) in matrix.iter_mut().zip(bytes.chunks_exact(4)) {
            *number = i32::from_ne_bytes([raw[0], raw[1], raw[2], raw[3]]);
        }
        Orientation::from_display_matrix(&matrix)
    }

    /// How far the stored picture is turned clockwise to be displayed: 0, 90, 180 or 270 degrees.
    /// For a mirrored picture, the turn that comes before the swap of left and right.
    pub fn rotation_deg(self) -> u16 {
        match (self.transpose, self.mirror_y) {
            (false, false) => 0,
            (false, true) => 180,
            (true, false) => 90,
            (true, true) => 270,
        }
    }

    /// Whether writing would read backwards in the displayed picture: the file asks for a mirror.
    pub fn is_mirrored(self) -> bool {
        // A transposition is itself a mirror, as is each swap; an odd number of them stays one.
        self.transpose ^ self.mirror_x ^ self.mirror_y
    }

    /// Displayed width and height of a picture stored as `width` × `height`.
    pub fn displayed_size(self, [width, height]: [i32; 2]) -> [i32; 2] {
        if self.transpose {
            [height, width]
        } else {
            [width, height]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: i32 = 1 << 16;

    fn matrix(xx: i32, yx: i32, xy: i32, yy: i32) -> [i32; 9] {
        [xx, yx, 0, xy, yy, 0, 0, 0, 1 << 30]
    }

    #[test]
    fn right_angles_are_read_clockwise() {
        // A clockwise quarter turn with y down sends (1, 0) to (0, 1) and (0, 1) to (-1, 0).
        let quarter = Orientation::from_display_matrix(&matrix(0, ONE, -ONE, 0));
        assert_eq!(
            quarter,
            Orientation {
                transpose: true,
                mirror_x: true,
                mirror_y: false
            }
        );
        let turns = [
            (matrix(ONE, 0, 0, ONE), 0),
            (matrix(0, ONE, -ONE, 0), 90),
            (matrix(-ONE, 0, 0, -ONE), 180),
            (matrix(0, -ONE, ONE, 0), 270),
        ];
        for (m, deg) in turns {
            let o = Orientation::from_display_matrix(&m);
            assert_eq!(o.rotation_deg(), deg);
            assert!(!o.is_mirrored(), "{deg}°");
        }
    }

    #[test]
    fn mirrors_are_told_from_turns() {
        for m in [
            matrix(-ONE, 0, 0, ONE),
            matrix(ONE, 0, 0, -ONE),
            matrix(0, ONE, ONE, 0),
            matrix(0, -ONE, -ONE, 0),
        ] {
            assert!(Orientation::from_display_matrix(&m).is_mirrored(), "{m:?}");
        }
    }

    #[test]
    fn odd_matrices_leave_or_round() {
        assert_eq!(
            Orientation::from_display_matrix(&[0; 9]),
            Orientation::default()
        );
        assert_eq!(
            Orientation::from_side_data(&[1, 2, 3]),
            Orientation::default()
        );
        let nearly = matrix(1200, ONE - 9, -ONE + 9, 1200);
        assert_eq!(Orientation::from_display_matrix(&nearly).rotation_deg(), 90);
        let extreme = matrix(i32::MIN, 0, 0, i32::MIN);
        assert_eq!(
            Orientation::from_display_matrix(&extreme).rotation_deg(),
            180
        );
    }
}
