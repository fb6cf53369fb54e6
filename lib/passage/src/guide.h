#pragma once

#include <Eigen/Core>
#include <utility>
#include <vector>

#include "anfract/passage/lumen.h"

namespace anfract {

/// Directions of the half-planes that bound a section.
inline constexpr int side_count = 24;

/// A section as half-planes n_j . u <= support_mm[j], and the largest disc in it.
struct GuideSection {
    Eigen::Array<double, side_count, 1> support_mm;
    double inradius_mm = 0;
    Vec2 incentre_mm{0, 0};
};

/// One place of the centreline.
struct GuidePlace {
    Vec3 point_P, tangent_P, n1_P, n2_P;
};

/// A point of the centreline and its first two derivatives by depth.
struct GuidePoint {
    Vec3 point_P, first, second_per_mm;
};

/// What a rod needs of a lumen, ready to be read at any depth.
class Guide {
  public:
    explicit Guide(const Lumen& lumen);

    double orifice_mm() const { return lumen_->depth_mm.front(); }
    double foramen_mm() const { return lumen_->depth_mm.back(); }
    const Lumen& lumen() const { return *lumen_; }
    const std::vector<double>& inradius_mm() const { return inradius_mm_; }

    /// Cubic in depth between stations; frames are interpolated and made orthonormal. Beyond the
    /// ends the line goes on straight.
    GuidePlace place(double depth_mm) const;
    GuidePlace place(double depth_mm, const GuidePoint& at) const;
    /// The same line without its frame.
    GuidePoint point(double depth_mm) const;
    /// Linear between stations, constant beyond the ends.
    GuideSection section(double depth_mm) const;
    double inradius_mm(double depth_mm) const;
    /// Curvature vector (1/mm) in (n1, n2).
    Vec2 curvature_per_mm(double depth_mm) const;
    /// Support of one side at a depth, and its rise by depth.
    struct Support {
        double mm, slope;
    };
    Support support(int side, double depth_mm) const;
    /// The largest disc at a depth.
    std::pair<Vec2, double> disc_mm(double depth_mm) const;

  private:
    struct Bracket {
        int low;
        double t;
    };
    Bracket bracket(double depth_mm) const;

    const Lumen* lumen_;
    double spacing_mm_, stations_per_mm_;
    Eigen::ArrayXXd support_mm_;  // side_count x stations
    std::vector<double> inradius_mm_;
    std::vector<Vec2> incentre_mm_;
    std::vector<Vec2> curvature_per_mm_;
};

/// Unit vectors (cos, sin) in `count` even directions: side_count, half of it, or 4.
const Eigen::ArrayX2d& even_directions(int count);
/// Unit normals of the sides.
const Eigen::Array<double, side_count, 2>& side_normals();

/// Centre and radius of the largest disc inside the half-planes.
std::pair<Vec2, double> largest_disc(const Eigen::Array<double, side_count, 1>& support_mm);

}  // namespace anfract
