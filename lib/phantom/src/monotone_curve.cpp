#include "monotone_curve.h"

// Boost 1.74's pchip.hpp calls isnan unqualified, which only <math.h> provides.
#include <math.h>

#include <algorithm>
#include <boost/math/interpolators/pchip.hpp>
#include <cmath>

namespace anfract {

namespace {
constexpr double step = 0.02;
}

MonotoneCurve::MonotoneCurve(const std::vector<std::pair<double, double>>& points)
    : first_x_(points.front().first) {
    std::vector<double> x, y;
    for (const auto& [px, py] : points) {
        x.push_back(px);
        y.push_back(py);
    }
    const double last_x = x.back();
    const boost::math::interpolators::pchip<std::vector<double>> curve(std::move(x), std::move(y),
                                                                       0.0, 0.0);
    const auto count = static_cast<std::size_t>(std::ceil((last_x - first_x_) / step)) + 1;
    for (std::size_t i = 0; i < count; ++i) {
        table_.push_back(curve(std::min(first_x_ + static_cast<double>(i) * step, last_x)));
    }
}

double MonotoneCurve::operator()(double x) const {
    const double at =
        std::clamp((x - first_x_) / step, 0.0, static_cast<double>(table_.size() - 1));
    const auto i = std::min(static_cast<std::size_t>(at), table_.size() - 2);
    const double share = at - static_cast<double>(i);
    return table_[i] + share * (table_[i + 1] - table_[i]);
}

}  // namespace anfract
