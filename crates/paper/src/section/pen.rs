//! Paths written short: relative, to a tenth of a unit, without drift.

/// Writes path data relative to where it stands.
#[derive(Debug, Default)]
pub(super) struct Pen {
    d: String,
    x: i64,
    y: i64,
    last: char,
}

fn tenths(v: f64) -> i64 {
    (v * 10.0).round() as i64
}

impl Pen {
    /// The path data.
    pub fn into_string(self) -> String {
        self.d
    }

    fn number(&mut self, v: i64) {
        let first = self.d.ends_with(|c: char| c.is_ascii_alphabetic());
        if v < 0 {
            self.d.push('-');
        } else if !first {
            self.d.push(' ');
        }
        let (whole, part) = (v.abs() / 10, v.abs() % 10);
        if whole > 0 || part == 0 {
            self.d.push_str(&whole.to_string());
        }
        if part > 0 {
            self.d.push('.');
            self.d.push_str(&part.to_string());
        }
    }

    fn command(&mut self, c: char) {
        if self.last != c {
            self.d.push(c);
            self.last = c;
        }
    }

    fn points(&mut self, points: &[(f64, f64)]) {
        let (x0, y0) = (self.x, self.y);
        for (x, y) in points {
            let (x, y) = (tenths(*x), tenths(*y));
            self.number(x - x0);
            self.number(y - y0);
            (self.x, self.y) = (x, y);
        }
    }

    /// Starts at a point.
    pub fn start(&mut self, x: f64, y: f64) -> &mut Self {
        self.last = 'M';
        self.d.push('M');
        (self.x, self.y) = (0, 0);
        self.points(&[(x, y)]);
        self
    }

    /// A line to a point.
    pub fn line(&mut self, x: f64, y: f64) -> &mut Self {
        self.command('l');
        self.points(&[(x, y)]);
        self
    }

    /// A quadratic curve to a point.
    pub fn curve(&mut self, via: (f64, f64), to: (f64, f64)) -> &mut Self {
        self.command('q');
        self.points(&[via, to]);
        self
    }

    /// Closes the shape.
    pub fn close(&mut self) -> &mut Self {
        self.d.push('z');
        self.last = 'z';
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_short_and_do_not_drift() {
        let mut pen = Pen::default();
        pen.start(10.04, 20.0).line(10.5, 19.96).curve((11.0, 20.0), (12.0, 21.25)).close();
        assert_eq!(pen.into_string(), "M10 20l.5 0q.5 0 1.5 1.3z");
        let mut pen = Pen::default();
        pen.start(0.0, 0.0);
        for k in 1..=1000 {
            pen.line(f64::from(k) * 0.04, 0.0);
        }
        assert_eq!(pen.x, 400);
    }
}
