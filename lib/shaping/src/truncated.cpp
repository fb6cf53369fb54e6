#include "anfract/shaping/truncated.h"

#include <algorithm>
#include <cmath>

namespace anfract {

int stations_down_to(const Lumen& lumen, double depth_mm) {
    const auto nearest = std::lround((depth_mm - lumen.depth_mm.front()) / lumen.spacing_mm());
    return int(std::clamp<long>(nearest + 1, 2, lumen.station_count()));
}

Lumen down_to(const Lumen& lumen, double depth_mm) {
    const int count = stations_down_to(lumen, depth_mm);
    Lumen cut;
    cut.canal = lumen.canal;
    cut.reference_to_orifice_mm = lumen.reference_to_orifice_mm;
    const auto head = [count](const auto& all) {
        return std::decay_t<decltype(all)>(all.begin(), all.begin() + count);
    };
    cut.depth_mm = head(lumen.depth_mm);
    cut.point_P = head(lumen.point_P);
    cut.tangent_P = head(lumen.tangent_P);
    cut.n1_P = head(lumen.n1_P);
    cut.n2_P = head(lumen.n2_P);
    cut.radius_mm = lumen.radius_mm.topRows(count);
    cut.wall_mm = lumen.wall_mm.topRows(count);
    return cut;
}

}  // namespace anfract
