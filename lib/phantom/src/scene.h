#pragma once

#include <optional>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/phantom/phantom.h"
#include "anfract/phantom/tissue.h"
#include "tooth_solid.h"

namespace anfract {

struct Rendering {
    Brick grey;
    std::vector<float> metal_share;  ///< one value per voxel, or empty when there is no metal
};

/// What surrounds the tooth.
struct SceneOptions {
    std::optional<double> metal_grey;  ///< of fillings, before the scanner's range ends
    bool neighbours = false;           ///< a copy of the tooth on either side
    double neighbour_gap_mm = 0.1;     ///< between the crowns
    bool thin_bone = false;            ///< hardly any bone over the root, buccally
};

/// Tooth, filling and jaw as a mixture of tissues in every voxel.
class Scene {
  public:
    Scene(const ToothSolid& solid, const Pose& pose, const SceneOptions& options);

    /// The grid that holds the tooth with a margin, axes along P's.
    GridGeometry frame(double voxel_mm) const;

    /// Mean grey value over each voxel's box, without blur or noise. `texture` has unit variance,
    /// one value per voxel, or is empty.
    Result<Rendering> render(const GridGeometry& geometry, const std::vector<float>& texture,
                             unsigned threads, const Progress& progress) const;

    /// Signed distance to the nearest metal filling in T.
    double metal_mm(const Vec3& p) const;

    const TissueGreys& greys() const { return greys_; }

  private:
    double grey_at(const Vec3& p, double voxel_mm, double texture, float* metal) const;
    double background(const Vec3& p, double outer, double voxel_mm, double texture) const;
    double pulp_share(const Vec3& p, double voxel_mm) const;
    double with_neighbour(const Vec3& p, double voxel_mm, double grey) const;

    const ToothSolid& solid_;
    Pose pose_;
    SceneOptions options_;
    TissueGreys greys_;
};

/// Share of a voxel on the inner side of a smooth surface at signed distance `d` from its centre: a
/// ramp as wide as the voxel, which has the variance of the voxel's box seen from any side.
double inner_share(double distance_mm, double voxel_mm);

/// Share of a voxel that lies inside a thin thing, by 240 sub-samples. The voxel is a cube about
/// `centre` whose edges are the columns of `axes`; `distance` is a signed distance in the same
/// frame.
///
/// The sub-samples are the additive sequence of the three-dimensional golden ratio [Roberts2018]:
/// seen along an axis they stay spread over the face, where a grid of 6^3 would line up to 6^2 and
/// miss 5 % of a thin tube.
template <class Distance>
double fine_share(const Vec3& centre, const Mat3& axes, double voxel_mm, const Distance& distance) {
    constexpr int n = 240;
    constexpr double ratio = 1.2207440846057596;  // the real root of x^4 = x + 1
    // A narrow ramp instead of a step; to the square of a tube's radius it adds ramp^2 / 12 only.
    const double ramp_mm = voxel_mm / 12;
    const Vec3 stride(1 / ratio, 1 / (ratio * ratio), 1 / (ratio * ratio * ratio));
    Vec3 place = Vec3::Constant(0.5);
    double sum = 0;
    for (int i = 0; i < n; ++i) {
        place += stride;
        place = place.array() - place.array().floor();
        sum += inner_share(distance(centre + axes * ((place.array() - 0.5).matrix() * voxel_mm)),
                           ramp_mm);
    }
    return sum / n;
}

}  // namespace anfract
