#include "edge_fit.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <unsupported/Eigen/NonLinearOptimization>

namespace anfract {
namespace {

/// Residuals and derivatives in the form Eigen's Levenberg-Marquardt asks for.
/// The parameters are a, b, t0 and log sigma, which keeps the width positive.
class EdgeResiduals {
  public:
    explicit EdgeResiduals(const std::vector<EdgeSample>& samples)
        : samples_(samples), share_(samples.size()) {}

    int inputs() const { return 4; }
    int values() const { return static_cast<int>(samples_.size()); }

    int operator()(const Eigen::VectorXd& p, Eigen::VectorXd& residuals) {
        take_shares(p);
        for (std::size_t n = 0; n < samples_.size(); ++n)
            residuals[Eigen::Index(n)] = p[0] + p[1] * share_[n] - samples_[n].grey;
        return 0;
    }
    int df(const Eigen::VectorXd& p, Eigen::MatrixXd& jacobian) {
        if (p[2] != t0_mm_ || p[3] != log_sigma_) take_shares(p);
        const double sigma = std::exp(p[3]);
        for (std::size_t n = 0; n < samples_.size(); ++n) {
            const auto row = Eigen::Index(n);
            const double u = (samples_[n].t_mm - p[2]) / sigma;
            const double density = std::exp(-0.5 * u * u) / std::sqrt(2 * std::numbers::pi);
            jacobian(row, 0) = 1;
            jacobian(row, 1) = share_[n];
            jacobian(row, 2) = -p[1] * density / sigma;
            jacobian(row, 3) = -p[1] * density * u;
        }
        return 0;
    }

  private:
    /// Derivatives are asked for where residuals were last: the error function is taken once for
    /// both.
    void take_shares(const Eigen::VectorXd& p) {
        t0_mm_ = p[2];
        log_sigma_ = p[3];
        const double scale = 1 / (std::numbers::sqrt2 * std::exp(p[3]));
        for (std::size_t n = 0; n < samples_.size(); ++n)
            share_[n] = 0.5 * (1 + std::erf((samples_[n].t_mm - p[2]) * scale));
    }

    const std::vector<EdgeSample>& samples_;
    std::vector<double> share_;  ///< of the step that is made at each sample
    double t0_mm_ = 0, log_sigma_ = 0;
};

}  // namespace

std::optional<EdgeFit> fit_edge(const std::vector<EdgeSample>& samples, double start_sigma_mm) {
    if (samples.size() < 8) return std::nullopt;
    const auto by_t = [](const EdgeSample& a, const EdgeSample& b) { return a.t_mm < b.t_mm; };
    const auto [first, last] = std::minmax_element(samples.begin(), samples.end(), by_t);
    const double reach = last->t_mm - first->t_mm;
    // Start from the means of the outer quarters.
    double low = 0;
    double high = 0;
    int low_count = 0;
    int high_count = 0;
    for (const EdgeSample& s : samples) {
        if (s.t_mm < first->t_mm + 0.25 * reach) low += s.grey, ++low_count;
        if (s.t_mm > last->t_mm - 0.25 * reach) high += s.grey, ++high_count;
    }
    low /= low_count;
    high /= high_count;
    Eigen::VectorXd p(4);
    p << low, high - low, 0.0, std::log(start_sigma_mm);
    EdgeResiduals residuals(samples);
    Eigen::LevenbergMarquardt<EdgeResiduals> solver(residuals);
    solver.parameters.maxfev = 60;
    const auto status = solver.minimize(p);
    using Status = Eigen::LevenbergMarquardtSpace::Status;
    if (status == Status::ImproperInputParameters || status == Status::TooManyFunctionEvaluation) {
        return std::nullopt;
    }
    EdgeFit fit{p[0], p[1], p[2], std::exp(p[3]),
                std::sqrt(solver.fvec.squaredNorm() / double(samples.size()))};
    if (!p.allFinite() || fit.step_grey <= 0 || !(fit.sigma_mm < reach)) return std::nullopt;
    return fit;
}

}  // namespace anfract
