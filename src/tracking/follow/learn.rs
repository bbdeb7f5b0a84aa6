//! What the follower learns: how the lure lies at first, its colours and look, at which end its line is.

use std::cmp::Ordering;

use super::super::colours::Voice;
use super::super::ends;
use super::super::evidence::Evidence;
use super::super::line::Streak;
use super::super::line_watch::LineLook;
use super::super::window::Window;
use super::{Follower, Look, SURE};

/// Likeness in the first picture under which a spot is not told from the water.
const LEAST_TOLD: f64 = 0.58;

impl Follower {
    /// First frame: slides the first outline in place.
    pub(super) fn settle(&mut self, window: &Window, gain: f32) {
        let voices = self.colours.speak(window, gain);
        let centre = [self.pose.x_px, self.pose.y_px];
        let evidence = Evidence::new(window, &voices, 1);
        let fit = evidence.improve(&self.shape, self.pose, &self.leash(centre, 0.02), 8);
        self.pose = fit.pose;
        self.usual_agreement = fit.agreement;
        // the picture it was learned from agrees better than any other will; where even there the spot is
        // hardly told from the water, nothing is to be followed
        let likeness = evidence.likeness(&self.shape, &fit.pose);
        self.usual = if likeness < LEAST_TOLD {
            f64::INFINITY
        } else {
            0.85 * likeness
        };
        self.coarse = self.shape.blurred(0.06);
    }

    /// At which end the line is, and where on the body, if a look told it just now.
    pub(super) fn learn_line(&mut self, t_s: f64, line: &LineLook, trust: f64) {
        if line.telling {
            self.looks += 1;
            for (count, streak) in self.lines.iter_mut().zip(&line.streaks) {
                *count += usize::from(streak.as_ref().is_some_and(Streak::is_line));
            }
        }
        let off_its_end = self.line_off(line);
        let Some(tether) = &mut self.tether else {
            return;
        };
        tether.lure_seen(t_s);
        if trust > SURE {
            tether.learn(t_s, &self.pose, off_its_end);
        }
    }

    /// The line that this look showed off the end off which it mostly was, and which end (+1 or −1) that is.
    fn line_off(&self, line: &LineLook) -> Option<(f64, Streak)> {
        let [ahead, behind] = self.lines;
        let (end, sense) = match ahead.cmp(&behind) {
            Ordering::Greater => (0, 1.0),
            Ordering::Less => (1, -1.0),
            Ordering::Equal => return None,
        };
        let streak = line.streaks[end].filter(Streak::is_line)?;
        Some((sense, streak))
    }

    pub(super) fn learn(&mut self, look: &Look, share: &[f32], gain: f32, trust: f64) {
        if trust < SURE {
            return;
        }
        let (window, voices) = (&look.window, &look.voices);
        let early = self.seen < 15;
        if early || self.seen % 2 == 0 {
            self.shape.learn(window, voices, &self.pose, 0.01);
        }
        let lure_rate = if early { 0.1 } else { 0.03 };
        self.colours
            .adapt(window, &taught(share, voices), gain, lure_rate, 0.1);
        if !early && self.seen % 10 == 0 {
            self.leave_out_limbs();
        }
        if early || self.seen % 10 == 0 {
            self.coarse = self.shape.blurred(0.06);
        }
    }

    /// Keeps lip and hooks, as far as they are told from the body, out of the fit once it is known at which end the nose
    /// is: the lip hangs below the body and swings to the side as the lure rolls, and would drag the axis with it.
    fn leave_out_limbs(&mut self) {
        let [ahead, behind] = self.lines;
        if ahead.max(behind) * 2 < self.looks || ahead == behind {
            return;
        }
        let sense = if ahead > behind { 1.0 } else { -1.0 };
        if let Some(ends) = ends::find_firm(&self.shape, sense, self.view) {
            self.shape.keep_to_body(ends.tail[0], ends.nose[0]);
        }
    }
}

/// How much each sample teaches of the lure's colours: a sample inside the silhouette that looks like
/// water teaches little, or the silhouette would swell into the water.
fn taught(share: &[f32], voices: &[Voice]) -> Vec<f32> {
    share
        .iter()
        .zip(voices)
        .map(|(s, v)| if *s > 0.7 { s * v.chance() } else { *s })
        .collect()
}
