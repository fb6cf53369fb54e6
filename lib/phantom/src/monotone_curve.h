#pragma once

#include <utility>
#include <vector>

namespace anfract {

/// A smooth curve through points that does not overshoot (monotone cubic [Fritsch1980], from
/// Boost.Math), flat at and beyond the ends. It is tabulated, so that reading it costs next to
/// nothing.
class MonotoneCurve {
  public:
    MonotoneCurve() = default;
    /// @pre x strictly rises, at least four points
    explicit MonotoneCurve(const std::vector<std::pair<double, double>>& points);
    double operator()(double x) const;

  private:
    double first_x_ = 0;
    std::vector<double> table_;
};

}  // namespace anfract
