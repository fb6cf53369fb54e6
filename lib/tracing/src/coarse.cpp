#include "coarse.h"

#include <algorithm>
#include <cmath>

namespace anfract::tracing {

Coarse coarse_steps(const GridGeometry& fine) {
    constexpr double coarse_mm = 0.25;
    Coarse step;
    for (int a = 0; a < 3; ++a) {
        step[std::size_t(a)] =
            std::max(1, static_cast<int>(std::lround(coarse_mm / fine.spacing_mm[a])));
    }
    return step;
}

GridGeometry coarser(const GridGeometry& fine, const Coarse& step) {
    GridGeometry coarse = fine;
    Vec3 first;
    for (int a = 0; a < 3; ++a) {
        coarse.size[std::size_t(a)] =
            (fine.size[std::size_t(a)] + step[std::size_t(a)] - 1) / step[std::size_t(a)];
        coarse.spacing_mm[a] = fine.spacing_mm[a] * step[std::size_t(a)];
        first[a] = (step[std::size_t(a)] - 1) / 2.0;
    }
    coarse.origin_P = fine.to_patient(first);
    return coarse;
}

Mask coarsened(const Mask& mask, const GridGeometry& fine, const GridGeometry& coarse,
               const Coarse& step) {
    std::vector<int> balance(coarse.voxel_count(), 0);
    for_both(fine, coarse, step,
             [&](std::size_t n, std::size_t m) { balance[m] += mask[n] != 0 ? 1 : -1; });
    Mask rough(balance.size());
    for (std::size_t m = 0; m < rough.size(); ++m) rough[m] = balance[m] >= 0;
    return rough;
}

}  // namespace anfract::tracing
