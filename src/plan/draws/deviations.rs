//! How far each input of a draw lies from its estimate.

/// How far each input lies from its estimate.
#[derive(Debug, Clone)]
pub(in crate::plan) struct Deviations {
    /// Of the free parameters, on their scales.
    pub(in crate::plan) shifts: Vec<f64>,
    /// Of a reading, in standard deviations.
    pub(in crate::plan) reading: f64,
    /// In half-widths of the range, as are the next three.
    pub(in crate::plan) bore: f64,
    pub(in crate::plan) friction: f64,
    pub(in crate::plan) flow: f64,
    pub(in crate::plan) block: f64,
    /// Which of the contact histories; the estimate's own where none.
    pub(in crate::plan) contact: Option<usize>,
}

impl Deviations {
    #[inline]
    pub(in crate::plan) fn none(parameters: usize) -> Self {
        Self {
            shifts: vec![0.0; parameters],
            reading: 0.0,
            bore: 0.0,
            friction: 0.0,
            flow: 0.0,
            block: 0.0,
            contact: None,
        }
    }
}
