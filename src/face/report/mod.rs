//! One self-contained HTML document for a calibration.
