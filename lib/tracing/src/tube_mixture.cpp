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

}  // namespace

double BlurredTube::density(const Vec2& p_mm) const {
    return area_mm2 / (2 * std::numbers::pi * variance_mm2) *
           std::exp(-(p_mm - centre_mm).squaredNorm() / (2 * variance_mm2));
}

std::vector<TubeShare> shared_out(const SectionImage& image, double dentine_grey, double contrast,
                                  const std::vector<BlurredTube>& tubes) {
    std::vector<double> sums(tubes.size()), densities(tubes.size());
    std::vector<Vec2> moments(tubes.size(), Vec2(0, 0));
    for (int y = -image.half; y <= image.half; ++y) {
        for (int x = -image.half; x <= image.half; ++x) {
            const std::size_t n = image.index(x, y);
            if (image.share[n] <= 0) continue;
            const Vec2 p = Vec2(x, y) * image.pixel_mm;
            double all = 0;
            for (std::size_t k = 0; k < tubes.size(); ++k)
                all += densities[k] = tubes[k].density(p);
            if (all < negligible) continue;
            const double missing = (dentine_grey - image.grey[n]) / contrast;
            for (std::size_t k = 0; k < tubes.size(); ++k) {
                sums[k] += densities[k] / all * missing;
                moments[k] += densities[k] / all * missing * p;
            }
        }
    }
    const double pixel_mm2 = image.pixel_mm * image.pixel_mm;
    std::vector<TubeShare> shares(tubes.size());
    for (std::size_t k = 0; k < tubes.size(); ++k) {
        shares[k].area_mm2 = sums[k] * pixel_mm2;
        if (sums[k] > 0) shares[k].centroid_mm = moments[k] / sums[k];
    }
    return shares;
}

void separate(const SectionImage& image, const SectionSetting& setting,
              std::vector<BlurredTube>& tubes) {
    const double blur_mm2 =
        setting.sigma_psf_mm * setting.sigma_psf_mm + setting.voxel_mm * setting.voxel_mm / 6;
    const double contrast = setting.dentine_grey - setting.pulp_grey;
    for (int round = 0; round < most_rounds; ++round) {
        // A disc's own variance is d^2 / 16 = A / (4 pi).
        for (BlurredTube& tube : tubes)
            tube.variance_mm2 = blur_mm2 + tube.area_mm2 / (4 * std::numbers::pi);
        const auto shares = shared_out(image, setting.dentine_grey, contrast, tubes);
        double moved = 0;
        for (std::size_t k = 0; k < tubes.size(); ++k) {
            if (shares[k].area_mm2 < least_area_mm2) return;
            moved = std::max(moved, (shares[k].centroid_mm - tubes[k].centre_mm).norm());
            tubes[k].centre_mm = shares[k].centroid_mm;
            tubes[k].area_mm2 = shares[k].area_mm2;
        }
        if (moved < settled_mm) return;
    }
}

}  // namespace anfract::tracing
