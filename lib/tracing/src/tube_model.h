#pragma once

#include <Eigen/Core>
#include <vector>

#include "section.h"

namespace anfract::tracing {

/// A tube with an elliptical lumen as a scan shows it in the plane across: the share of dentine
/// that is missing, blurred by the point spread.
struct TubeModel {
    Vec2 centre_mm{0, 0};
    double area_mm2 = 0;
    double ratio = 1;          ///< long over short diameter
    double long_axis_rad = 0;  ///< from x toward y
    double sigma_mm = 0;       ///< of the point spread, interpolation included

    double long_diameter_mm() const;
};

/// What a tube shows at the places of a grid. A Gaussian is the product of one along x and one
/// along y, so that each is taken once for a column and once for a row.
class TubeOnGrid {
  public:
    TubeOnGrid(const TubeModel& model, const std::vector<double>& x_mm,
               const std::vector<double>& y_mm);

    /// Missing share at a place, and how fast it grows with the area at the same shape, per mm^2.
    struct Value {
        double missing = 0, by_area = 0;
    };
    Value at(std::size_t column, std::size_t row) const {
        const Terms& x = columns_[column];
        const Terms& y = rows_[row];
        const PerPoint gauss = x.gauss * y.gauss;
        return {missing_scale_ * gauss.sum(), area_scale_ * (gauss * (x.change + y.change)).sum()};
    }

  private:
    static constexpr int points = 24;
    using PerPoint = Eigen::Array<double, points, 1>;
    /// Of the points that stand for the lumen, along one axis.
    struct Terms {
        PerPoint gauss, change;
    };
    static Terms terms(double place_mm, const PerPoint& point_mm, double variance_mm2);

    std::vector<Terms> columns_, rows_;
    double missing_scale_, area_scale_;
};

/// An area with its standard deviation.
struct AreaFit {
    double area_mm2 = 0, sd_mm2 = 0;
};

/// What a pixel of a section has to do with the fit of a tube.
enum class PixelRole : std::uint8_t { None, Window, Ring };

/// The most probable area of a tube of known place and shape: the missing share in the window is
/// compared with the model's, each pixel weighed by how much the model changes there with the area
/// and how dark it is there. The background was fitted to the ring, which holds a little of the
/// tube's own tail: that is allowed for. `missing` is this canal's share, one value a pixel. Zero
/// for a tube outside the window.
AreaFit fit_area(const SectionImage& image, const std::vector<float>& missing,
                 const std::vector<PixelRole>& roles, const SectionSetting& setting,
                 double contrast_grey, TubeModel model);

}  // namespace anfract::tracing
