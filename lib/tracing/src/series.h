#pragma once

#include <vector>

namespace anfract::tracing {

/// A series along depth, smoothed, with the standard deviation of each value.
struct Series {
    std::vector<double> value;
    std::vector<double> sd;
};

/// Most probable smooth series given measurements y with standard deviations: minimises
///   sum ((x - y) / sd)^2 + sum (h / L) (L^2 x'' / bend)^2,
/// a Gaussian prior of correlation length about L = `length` on a second derivative of size `bend`
/// / L^2. `h` is the spacing. A measurement with an infinite sd is left out. The sd returned is
/// that of the posterior.
Series smooth_series(const std::vector<double>& y, const std::vector<double>& sd, double h,
                     double length, double bend);

}  // namespace anfract::tracing
