#pragma once

#include <compare>
#include <numbers>

namespace anfract {

/// A plane angle. Made from and read in degrees or radians by name, so that neither is assumed.
class Angle {
  public:
    constexpr Angle() = default;
    static constexpr Angle degrees(double deg) { return Angle(deg * std::numbers::pi / 180.0); }
    static constexpr Angle radians(double rad) { return Angle(rad); }

    constexpr double deg() const { return rad_ * 180.0 / std::numbers::pi; }
    constexpr double rad() const { return rad_; }

    constexpr Angle operator+(Angle other) const { return Angle(rad_ + other.rad_); }
    constexpr Angle operator-(Angle other) const { return Angle(rad_ - other.rad_); }
    constexpr Angle operator*(double factor) const { return Angle(rad_ * factor); }
    constexpr auto operator<=>(const Angle&) const = default;

  private:
    explicit constexpr Angle(double rad) : rad_(rad) {}
    double rad_ = 0.0;
};

}  // namespace anfract
