//! Values between the rows of a table.

/// A value between two rows, straight on log-log paper, so that a power law is met exactly;
/// beyond the ends the first or last segment goes on. Points ascend in x; all are above zero.
pub(crate) fn log_log(points: &[(f64, f64)], x: f64) -> f64 {
    let logs: Vec<(f64, f64)> = points.iter().map(|(a, b)| (a.ln(), b.ln())).collect();
    extended(&logs, x.ln()).exp()
}

/// A value between two rows on a straight line; outside the table its nearest end.
pub(crate) fn linear(points: &[(f64, f64)], x: f64) -> f64 {
    match points {
        [] => f64::NAN,
        [(_, y)] => *y,
        [(first, _), .., (last, _)] => extended(points, x.clamp(*first, *last)),
    }
}

fn extended(points: &[(f64, f64)], x: f64) -> f64 {
    let upper = points.partition_point(|(a, _)| *a < x).clamp(1, points.len() - 1);
    let ((x0, y0), (x1, y1)) = (points[upper - 1], points[upper]);
    y0 + (y1 - y0) * (x - x0) / (x1 - x0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_power_law_is_met_between_rows_and_beyond_them() {
        let points = [(1.0, 3.0), (2.0, 12.0), (4.0, 48.0)];
        for x in [0.5, 1.0, 1.7, 3.3, 9.0] {
            assert!((log_log(&points, x) - 3.0 * x * x).abs() < 1e-9 * x * x, "{x}");
        }
    }

    #[test]
    fn a_straight_line_stops_at_the_ends() {
        let points = [(0.0, 1.0), (2.0, 5.0)];
        assert!((linear(&points, 0.5) - 2.0).abs() < 1e-12);
        assert!((linear(&points, -3.0) - 1.0).abs() < 1e-12);
        assert!((linear(&points, 9.0) - 5.0).abs() < 1e-12);
    }
}
