#include <algorithm>
#include <numeric>

#include "anfract/shaping/risk.h"

namespace anfract {

double variance_share(const std::vector<double>& x, const std::vector<double>& y) {
    const std::size_t count = std::min(x.size(), y.size());
    if (count < 50) return 0;
    // Classes of at least 25 keep the noise of their means small; more than 30 bring nothing.
    const std::size_t classes = std::min<std::size_t>(30, count / 25);
    std::vector<std::size_t> by_x(count);
    std::iota(by_x.begin(), by_x.end(), 0);
    std::stable_sort(by_x.begin(), by_x.end(),
                     [&](std::size_t a, std::size_t b) { return x[a] < x[b]; });
    const double mean = std::accumulate(y.begin(), y.begin() + long(count), 0.0) / double(count);
    double total = 0, within = 0;
    for (std::size_t c = 0; c < classes; ++c) {
        const std::size_t from = c * count / classes, to = (c + 1) * count / classes;
        double sum = 0;
        for (std::size_t i = from; i < to; ++i) sum += y[by_x[i]];
        const double class_mean = sum / double(to - from);
        for (std::size_t i = from; i < to; ++i) {
            const double value = y[by_x[i]];
            total += (value - mean) * (value - mean);
            within += (value - class_mean) * (value - class_mean);
        }
    }
    if (!(total > 0)) return 0;
    const double corrected = 1 - within / double(count - classes) / (total / double(count - 1));
    return std::clamp(corrected, 0.0, 1.0);
}

}  // namespace anfract
