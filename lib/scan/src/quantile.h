#pragma once

#include <algorithm>
#include <vector>

namespace anfract {

/// The value below which the share `q` of a sample lies. @pre not empty
inline double quantile(std::vector<double> values, double q) {
    const auto at = values.begin() + std::ptrdiff_t(q * double(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

}  // namespace anfract
