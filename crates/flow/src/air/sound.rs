//! Speed of sound in moist air.

use super::Air;

impl Air {
    /// Gives the speed of sound at zero frequency, m/s.
    ///
    /// Polynomial in temperature (°C), pressure (Pa), mole fractions of vapor
    /// and carbon dioxide. Stated range 0 to 30 °C, 75 to 102 kPa, vapor up to
    /// 0.06, carbon dioxide up to 0.01, uncertainty 0.03 %; 1·10⁻⁴ from CoolProp
    /// 8.0.0 there. Source: Cramer, J. Acoust. Soc. Am. 93 (1993) 2510,
    /// equation (15) and table III, from memory.
    ///
    /// ```
    /// use airshelf_flow::air::Air;
    /// let air = Air::from_relative_humidity(293.15, 101_325.0, 0.5)?;
    /// assert!((air.speed_of_sound_m_s() - 343.99).abs() < 0.05);
    /// # Ok::<(), airshelf_flow::FlowError>(())
    /// ```
    #[must_use]
    pub fn speed_of_sound_m_s(&self) -> f64 {
        let (t, p) = (self.temperature_k - 273.15, self.pressure_pa);
        let (w, c) = (self.vapor_fraction, self.co2_fraction);
        331.5024 + 0.603_055 * t - 0.000_528 * t * t
            + (51.471_935 + 0.149_587_4 * t - 0.000_782 * t * t) * w
            + (-1.82e-7 + 3.73e-8 * t - 2.93e-10 * t * t) * p
            + (-85.209_31 - 0.228_525 * t + 5.91e-5 * t * t) * c
            - 2.835_149 * w * w
            - 2.15e-13 * p * p
            + 29.179_762 * c * c
            + 0.000_486 * w * p * c
    }
}
