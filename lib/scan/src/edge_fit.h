#pragma once

#include <optional>
#include <vector>

namespace anfract {

/// A grey value at the signed distance t from a supposed edge.
struct EdgeSample {
    double t_mm = 0;
    double grey = 0;
};

/// a + b/2 (1 + erf((t - t0) / (sqrt(2) sigma))): an edge from a to a + b blurred by a Gaussian.
struct EdgeFit {
    double low_grey = 0;   ///< a
    double step_grey = 0;  ///< b
    double t0_mm = 0;
    double sigma_mm = 0;
    double residual_rms_grey = 0;
};

/// Least-squares fit of an error function, by Levenberg-Marquardt; nothing when it does not
/// converge to a positive width and step.
std::optional<EdgeFit> fit_edge(const std::vector<EdgeSample>& samples, double start_sigma_mm);

}  // namespace anfract
