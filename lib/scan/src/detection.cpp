#include "anfract/scan/detection.h"

#include <cmath>
#include <numbers>

namespace anfract {
namespace {

using std::numbers::pi;

/// Sum of the autocorrelation exp(-h^2 / (4 s^2)) over the grid, times the volume of a voxel.
double correlation_volume_mm3(const DetectionSetting& setting) {
    double volume = 1;
    for (int a = 0; a < 3; ++a) {
        const double s = setting.noise_correlation_mm / setting.spacing_mm[a];
        double sum = 1;
        for (int h = 1; s > 0 && h < 12 * s + 2; ++h) sum += 2 * std::exp(-h * h / (4 * s * s));
        volume *= sum * setting.spacing_mm[a];
    }
    return volume;
}

/// Index per mm^2 of section and per square root of mm of length.
double index_per_area(const DetectionSetting& setting) {
    const double sigma = setting.fwhm_mm / (2 * std::sqrt(2 * std::numbers::ln2));
    const double s = setting.noise_correlation_mm;
    return setting.contrast_grey * std::sqrt(4 * pi * (sigma * sigma + s * s)) /
           (4 * pi * sigma * sigma * setting.noise_sd_grey *
            std::sqrt(correlation_volume_mm3(setting)));
}

}  // namespace

double detection_index(const DetectionSetting& setting, double diameter_mm, double length_mm) {
    return index_per_area(setting) * pi / 4 * diameter_mm * diameter_mm * std::sqrt(length_mm);
}

double detectable_diameter_mm(const DetectionSetting& setting, double length_mm, double index) {
    return std::sqrt(4 / pi * index / (index_per_area(setting) * std::sqrt(length_mm)));
}

}  // namespace anfract
