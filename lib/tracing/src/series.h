#pragma once

#include <Eigen/Core>
#include <vector>

namespace anfract::tracing {

/// A series along depth, smoothed, with the standard deviation of each value.
struct Series {
    std::vector<double> value;
    std::vector<double> sd;
};

/// Most probable smooth series given measurements y with standard deviations: minimises
///   sum ((x - y) / sd)^2 + sum (h / L) (L^2 x'' / bend)^2,
/// a Gaussian prior of correlation length about L = `length` on a second derivative of size `bend`
/// / L^2. `h` is the spacing. A measurement with an infinite sd is left out. The sd returned is
/// that of the posterior. Beyond the last measurement the slope is held to 0 with a standard
/// deviation of `end_slope` over each `length`; 0 or infinite: it is not.
Series smooth_series(const std::vector<double>& y, const std::vector<double>& sd, double h,
                     double length, double bend, double end_slope = 0);

/// Errors of values along depth: `own_sd`, which no other value shares, and `slab_sd`, the noise of
/// a slab that the value was averaged over, which neighbouring slabs share as far as they overlap
/// and the noise itself hangs together.
struct SeriesNoise {
    std::vector<double> own_sd, slab_sd;
    double slab_mm = 0;
    double together_mm = 0;         ///< standard deviation of the noise's Gaussian autocorrelation
    std::vector<double> left_over;  ///< squared difference of each value from the smoothed one
    std::vector<double> curvature_per_mm;  ///< of the smoothed curve
};

/// How sure a smoothed series is.
struct SeriesError {
    std::vector<double> sd;
    /// Over which errors hang together: l of the correlation exp(-u^2 / (2 l^2)) that falls to the
    /// same value as the one found where this passes a half; the median over the values with a
    /// slab.
    double correlation_mm = 0;
};

/// The errors of a series smoothed by `smooth_series`, from those of the measurements. The smoothed
/// series is linear in them, x = K y with K = P W, P = (W + Q)^-1, W what it was smoothed with and
/// Q the prior; so its errors have the covariance
///     a K R K^T + F P Q P F,
/// R that of the measurements. a and the diagonal F are what the series itself shows: what is left
/// over of the values with a slab, y - x = P Q y, has the covariance a P Q R Q P + F P Q P F. Where
/// it is less than with a = 1 and F = 0, the noise is less; where it is more, the curve is rougher.
/// Method: docs/methods/tracing.md, "Fit".
SeriesError series_error(const std::vector<double>& sd, const SeriesNoise& noise, double h,
                         double length, double bend);

}  // namespace anfract::tracing
