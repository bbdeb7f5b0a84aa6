//! Least-squares fit of a constant and steady sines, some of them of unknown rate: the four-parameter
//! sine fit of IEEE 1057 for one of them, extended to several.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};
use std::f64::consts::TAU;

/// One sine: cosine·cos(2πft) + sine·sin(2πft).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sine {
    /// Rate, Hz.
    pub hz: f64,
    /// Its standard deviation, 0 where the rate was given.
    pub hz_sd: f64,
    /// Cosine part and its standard deviation.
    pub cosine: [f64; 2],
    /// Sine part and its standard deviation.
    pub sine: [f64; 2],
}

impl Sine {
    /// Zero-to-peak amplitude.
    pub fn amplitude(&self) -> f64 {
        self.cosine[0].hypot(self.sine[0])
    }
}

/// Constant and sines with standard deviations, which hold for white noise.
#[derive(Debug, Clone, PartialEq)]
pub struct SineFit {
    /// The constant and its standard deviation.
    pub level: [f64; 2],
    /// The sines of given rate, then those of fitted rate, in the order asked for.
    pub sines: Vec<Sine>,
    /// Sum of the squared residuals.
    pub residual_squares: f64,
}

/// Fits `values` at `t_s` by a constant, sines of the rates `given_hz`, and sines whose rates start
/// from `start_hz`. `None` where it does not settle or leaves no degrees of freedom.
///
/// The covariance is s²(JᵀJ)⁻¹ with s² = residual squares over degrees of freedom.
pub fn fit(t_s: &[f64], values: &[f64], given_hz: &[f64], start_hz: &[f64]) -> Option<SineFit> {
    let size = 1 + 2 * given_hz.len() + 3 * start_hz.len();
    let freedom = values.len().checked_sub(size).filter(|f| *f > 0)?;
    let mut problem = Sines {
        t_s,
        values,
        given_hz,
        x: DVector::zeros(size),
    };
    problem.start(start_hz)?;
    let (solved, report) = LevenbergMarquardt::new()
        .with_patience(200)
        .minimize(problem);
    if !report.termination.was_successful() {
        return None;
    }
    let jacobian = solved.jacobian()?;
    let residual_squares = solved.residuals()?.norm_squared();
    let covariance = (jacobian.transpose() * &jacobian).try_inverse()?;
    let sd = |i: usize| (covariance[(i, i)] * residual_squares / freedom as f64).sqrt();
    let x = &solved.x;
    let sine = |hz: f64, hz_sd: f64, i: usize| Sine {
        hz,
        hz_sd,
        cosine: [x[i], sd(i)],
        sine: [x[i + 1], sd(i + 1)],
    };
    let given = given_hz
        .iter()
        .enumerate()
        .map(|(j, &hz)| sine(hz, 0.0, 1 + 2 * j));
    let first = 1 + 2 * given_hz.len();
    let free = (0..start_hz.len())
        .map(|j| first + 3 * j)
        .map(|i| sine(x[i], sd(i), i + 1));
    Some(SineFit {
        level: [x[0], sd(0)],
        sines: given.chain(free).collect(),
        residual_squares,
    })
}

/// Parameters: constant; cosine, sine per given rate; rate, cosine, sine per free one.
struct Sines<'a> {
    t_s: &'a [f64],
    values: &'a [f64],
    given_hz: &'a [f64],
    x: DVector<f64>,
}

impl Sines<'_> {
    /// Amplitudes by linear least squares at the starting rates.
    fn start(&mut self, start_hz: &[f64]) -> Option<()> {
        let first = 1 + 2 * self.given_hz.len();
        for (j, &hz) in start_hz.iter().enumerate() {
            self.x[first + 3 * j] = hz;
        }
        let is_rate = |i: &usize| *i >= first && (i - first) % 3 == 0;
        let linear: Vec<usize> = (0..self.x.len()).filter(|i| !is_rate(i)).collect();
        let columns = self.jacobian()?.select_columns(&linear);
        let values = DVector::from_column_slice(self.values);
        let normal = (columns.transpose() * &columns).cholesky()?;
        let amplitudes = normal.solve(&(columns.transpose() * values));
        for (&i, &a) in linear.iter().zip(amplitudes.iter()) {
            self.x[i] = a;
        }
        Some(())
    }

    /// Rate, and place of its cosine part, of every sine.
    fn places(&self) -> impl Iterator<Item = (f64, usize)> + '_ {
        let given = self
            .given_hz
            .iter()
            .enumerate()
            .map(|(j, &hz)| (hz, 1 + 2 * j));
        let first = 1 + 2 * self.given_hz.len();
        given.chain((first..self.x.len()).step_by(3).map(|i| (self.x[i], i + 1)))
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Sines<'_> {
    type ParameterStorage = Owned<f64, Dyn>;
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        self.x.copy_from(x);
    }

    fn params(&self) -> DVector<f64> {
        self.x.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let residual = |(&t, &y): (&f64, &f64)| {
            let sines = self.places().map(|(hz, i)| {
                let (sin, cos) = (TAU * hz * t).sin_cos();
                self.x[i] * cos + self.x[i + 1] * sin
            });
            self.x[0] + sines.sum::<f64>() - y
        };
        let residuals = self.t_s.iter().zip(self.values).map(residual);
        Some(DVector::from_iterator(self.values.len(), residuals))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let mut jacobian = DMatrix::zeros(self.t_s.len(), self.x.len());
        let first = 1 + 2 * self.given_hz.len();
        for (row, &t) in self.t_s.iter().enumerate() {
            jacobian[(row, 0)] = 1.0;
            for (hz, i) in self.places() {
                let (sin, cos) = (TAU * hz * t).sin_cos();
                jacobian[(row, i)] = cos;
                jacobian[(row, i + 1)] = sin;
                if i > first {
                    jacobian[(row, i - 1)] = TAU * t * (self.x[i + 1] * cos - self.x[i] * sin);
                }
            }
        }
        Some(jacobian)
    }
}
