#pragma once

#include <Eigen/Core>

#include "anfract/geometry/vec.h"
#include "guide.h"

namespace anfract {

/// The wall as seen by a node: a smooth curve through half-planes n_j . v <= gap_j in even
/// directions.
///
/// A point v is in the wall at direction theta by f(theta) = n(theta) . v - gap(theta). Between the
/// sides f is the quadratic spline that is exact for a round wall (constant and first harmonic), so
/// a round wall is round: a polygon of 24 sides would be up to 0.9 % of its radius farther out in
/// its corners, and a rod would settle there. Contacts are the maxima of f above 0.
class RoundWall {
  public:
    explicit RoundWall(int sides);

    /// Control values of the spline of gaps, column by column.
    Eigen::ArrayXXd control(const Eigen::ArrayXXd& gap_mm) const;

    struct Contact {
        int side;
        double beside;              ///< direction, in sides from `side`
        double depth_mm;            ///< f
        Vec2 toward;                ///< df/dv
        Eigen::Matrix2d curvature;  ///< d2f/dv2
    };
    static constexpr int most_contacts = 8;
    /// Writes the contacts of `seen`; returns how many.
    int contacts(const double* control_mm, const Vec2& seen, Contact* found) const;

    /// Raises gaps that are nowhere below 0 as little as needed for the curve between them not to
    /// be either: a narrow oval's would be between the two sides nearest to its short axis, and
    /// squeeze a device that fills it.
    static Eigen::Array<double, side_count, 1> clear_beyond(
        Eigen::Array<double, side_count, 1> gap_mm);

    /// Shares of the side before, the side and the side after at a place beside it.
    static Eigen::Array3d shares(double beside) {
        return {(0.5 - beside) * (0.5 - beside) / 2, 0.75 - beside * beside,
                (0.5 + beside) * (0.5 + beside) / 2};
    }

  private:
    int sides_;
    double filter_;              // makes the spline exact for the first harmonic
    Eigen::ArrayX2d direction_;  // control values of n
};

}  // namespace anfract
