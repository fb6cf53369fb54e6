#include "canal_case.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace anfract {

double wall_error_mm(const Tooth& tooth) {
    if (!tooth.scan) return 0.1;
    return std::clamp(tooth.scan->voxel_mm.maxCoeff(), 0.1, 0.3);
}

std::string number_text(double value, int decimals) {
    char buffer[32];
    std::snprintf(buffer, sizeof buffer, "%.*f", decimals, value);
    return buffer;
}

std::string mm_text(double value_mm, int decimals) {
    return number_text(value_mm, decimals) + " mm";
}

std::string percent_text(double share, int decimals) {
    return number_text(share * 100, decimals) + " %";
}

std::string name_of(const Device& device) { return device.name.empty() ? device.id : device.name; }

}  // namespace anfract
