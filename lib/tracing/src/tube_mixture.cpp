#include "tube_mixture.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace anfract::tracing {
namespace {

constexpr int most_rounds = 60;
constexpr double settled_mm = 1e-3;
constexpr double least_area_mm2 = 1e-3;
constexpr double negligible = 1e-3;  ///< a density far from all tubes

/// A tube's blurred section has the variance of the blur and d^2 / 16 = A / (4 pi) of a disc.
double density(const BlurredTube& tube, const Vec2& p, double blur_mm2) {
    const double variance = blur_mm2 + tube.area_mm2 / (4 * std::numbers::pi);
    return tube.area_mm2 / (2 * std::numbers::pi * variance) *
           std::exp(-(p - tube.centre_mm).squaredNorm() / (2 * variance));
}

struct Moments {
    double sum = 0;
    Vec2 first{0, 0};
};

std::vector<Moments> shared_out(const SectionImage& image, const SectionSetting& setting,
                                const std::vector<BlurredTube>& tubes) {
    const double blur =
        setting.sigma_psf_mm * setting.sigma_psf_mm + setting.voxel_mm * setting.voxel_mm / 6;
    const double contrast = setting.dentine_grey - setting.pulp_grey;
    std::vector<Moments> moments(tubes.size());
    std::vector<double> densities(tubes.size());
    for (int y = -image.half; y <= image.half; ++y) {
        for (int x = -image.half; x <= image.half; ++x) {
            const std::size_t n = image.index(x, y);
            if (image.share[n] <= 0) continue;
            const Vec2 p = Vec2(x, y) * image.pixel_mm;
            double all = 0;
            for (std::size_t k = 0; k < tubes.size(); ++k)
                all += densities[k] = density(tubes[k], p, blur);
            if (all < negligible) continue;
            const double missing = (setting.dentine_grey - image.grey[n]) / contrast;
            for (std::size_t k = 0; k < tubes.size(); ++k) {
                moments[k].sum += densities[k] / all * missing;
                moments[k].first += densities[k] / all * missing * p;
            }
        }
    }
    return moments;
}

}  // namespace

void separate(const SectionImage& image, const SectionSetting& setting,
              std::vector<BlurredTube>& tubes) {
    const double pixel_mm2 = image.pixel_mm * image.pixel_mm;
    for (int round = 0; round < most_rounds; ++round) {
        const std::vector<Moments> moments = shared_out(image, setting, tubes);
        double moved = 0;
        for (std::size_t k = 0; k < tubes.size(); ++k) {
            if (moments[k].sum * pixel_mm2 < least_area_mm2) return;
            const Vec2 centre = moments[k].first / moments[k].sum;
            moved = std::max(moved, (centre - tubes[k].centre_mm).norm());
            tubes[k] = {centre, moments[k].sum * pixel_mm2};
        }
        if (moved < settled_mm) return;
    }
}

}  // namespace anfract::tracing
