#include "evidence.h"

#include <algorithm>
#include <array>

#include "anfract/base/parallel.h"

namespace anfract::tracing {
namespace {

/// Filter widths over the point spread's.
constexpr std::array<double, 4> widths{1.0, 1.6, 2.5, 4.0};
constexpr float rim_mm = 0.2F;  ///< the outer surface's own blur
constexpr float certain = 12;   ///< z of a voxel that is dark beyond doubt

/// The tooth in a world of dentine: enamel and all that is outside give way to dentine.
Brick in_dentine(const Brick& brick, const ToothBody& body, const GreyLevels& levels) {
    Brick result{brick.geometry, std::vector<float>(brick.grey.size())};
    const auto dentine = static_cast<float>(levels.dentine);
    const auto top = static_cast<float>(levels.dentine + 3 * levels.noise);
    for (std::size_t n = 0; n < brick.grey.size(); ++n) {
        const float depth = body.depth.grey[n];
        result.grey[n] = depth > rim_mm ? std::min(brick.grey[n], top) : dentine;
    }
    return result;
}

}  // namespace

TubeEvidence tube_evidence(const Brick& brick, const ToothBody& body, const PulpSpace& pulp,
                           const GreyLevels& levels, unsigned threads, const Progress& progress) {
    const GridGeometry& g = brick.geometry;
    const Brick plain = in_dentine(brick, body, levels);
    TubeEvidence evidence;
    evidence.z.assign(brick.grey.size(), -1.0F);
    std::vector<float> response(brick.grey.size());
    for (const double width : widths) {
        if (progress.cancelled()) return evidence;
        const double sigma_mm =
            std::max(width * levels.sigma_psf_mm, 0.8 * g.spacing_mm.maxCoeff() * width);
        const Brick smoothed = smooth(plain, sigma_mm, threads);
        parallel_for(std::size_t(g.size[2] - 2), threads, [&](std::size_t begin, std::size_t end) {
            for (int k = static_cast<int>(begin) + 1; k <= static_cast<int>(end); ++k) {
                for (int j = 1; j + 1 < g.size[1]; ++j) {
                    for (int i = 1; i + 1 < g.size[0]; ++i) {
                        const std::size_t n = g.index(i, j, k);
                        if (body.depth.grey[n] <= 0) continue;
                        float rising[3];
                        eigenvalues(hessian(smoothed, i, j, k), rising);
                        response[n] = rising[1];
                    }
                }
            }
        });
        std::vector<float> in_plain_dentine;
        for (std::size_t n = 0; n < response.size(); n += 3) {
            const bool deep = body.depth.grey[n] > 0.6F && pulp.low_distance_mm[n] > 0.8F;
            if (deep && brick.grey[n] < levels.dentine + 4 * levels.noise) {
                in_plain_dentine.push_back(response[n]);
            }
        }
        const auto scale = static_cast<float>(1 / std::max(robust_sd(in_plain_dentine), 1e-9));
        parallel_for(response.size(), threads, [&](std::size_t begin, std::size_t end) {
            for (std::size_t n = begin; n < end; ++n) {
                if (body.depth.grey[n] > 0)
                    evidence.z[n] = std::max(evidence.z[n], response[n] * scale);
            }
        });
    }
    for (std::size_t n = 0; n < response.size(); ++n) {
        if (pulp.low[n] != 0) evidence.z[n] = std::max(evidence.z[n], certain);
    }
    return evidence;
}

}  // namespace anfract::tracing
