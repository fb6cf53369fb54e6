#include "contact_interior.h"

#include <algorithm>
#include <cmath>

#include "guide.h"
#include "rod_energy.h"
#include "side_kernels.h"

namespace anfract {
namespace {

using Eigen::ArrayXXd;

/// The iterate and the work arrays of the interior point method.
class InteriorPoint {
  public:
    explicit InteriorPoint(const RodProblem& problem)
        : p_(problem),
          n_(problem.node_count()),
          energy_(problem),
          factor_(n_),
          u_(2 * n_, 0.0),
          du_(2 * n_),
          sums_(n_) {
        sides_.sides = static_cast<int>(problem.gap_mm.rows());
        sides_.nodes = n_;
        const Eigen::ArrayX2d& n = even_directions(sides_.sides);
        side_x_.resize(sides_.sides, n_);
        side_y_.resize(sides_.sides, n_);
        for (int i = 0; i < n_; ++i) {
            const Eigen::Matrix2d& frame = problem.side_frame[i];
            side_x_.col(i) = frame(0, 0) * n.col(0) + frame(0, 1) * n.col(1);
            side_y_.col(i) = frame(1, 0) * n.col(0) + frame(1, 1) * n.col(1);
        }
        sides_.x = side_x_.data();
        sides_.y = side_y_.data();
        sides_.gap = problem.gap_mm.data();
        sides_.compliance = problem.compliance_mm_per_N;
        sides_.resize();
    }

    RodSolution run(double closeness);

  private:
    void start_cold(double scale);
    void factorise();
    void solve_for_step();

    const RodProblem& p_;
    int n_;
    RodEnergy energy_;
    BandedMatrix factor_;
    ArrayXXd side_x_, side_y_;
    std::vector<double> u_, du_, dual_;
    std::vector<RodEnergy::Tangent> bending_;
    SideArrays sides_;
    std::vector<NodeSums> sums_;
};

void InteriorPoint::start_cold(double scale) {
    for (std::size_t k = 0; k < sides_.slack.size(); ++k) {
        sides_.slack[k] = std::max(sides_.gap[k], 0.02);
        sides_.force[k] = 0.1 * scale;
    }
}

void InteriorPoint::factorise() {
    energy_.hessian(bending_, factor_);
    for (int i = 0; i < n_; ++i) {
        Block& own = factor_.node(i).own;
        own.xx += sums_[i].xx;
        own.xy += sums_[i].xy;
        own.yy += sums_[i].yy;
    }
    factor_.factorise();
}

/// Newton step of the offsets from the residual of equilibrium and the pull of the sides.
void InteriorPoint::solve_for_step() {
    for (int i = 0; i < n_; ++i) {
        du_[2 * i] = -dual_[2 * i] - sums_[i].pull_x;
        du_[2 * i + 1] = -dual_[2 * i + 1] - sums_[i].pull_y;
    }
    factor_.solve(du_);
}

RodSolution InteriorPoint::run(double closeness) {
    const double scale = energy_.force_scale_N();
    start_cold(scale);
    constexpr int most_iterations = 60, most_corrected = 20;
    const double count = static_cast<double>(sides_.slack.size());
    RodSolution result;
    for (int iteration = 0;; ++iteration) {
        const SideStatistics now = prepare_sides(sides_, u_.data(), sums_.data());
        const double mu = now.product / count;
        energy_.evaluate(u_, dual_, bending_);
        result.residual_N = 0;
        for (int i = 0; i < n_; ++i) {
            dual_[2 * i] += sums_[i].force_x;
            dual_[2 * i + 1] += sums_[i].force_y;
            result.residual_N =
                std::max({result.residual_N, std::abs(dual_[2 * i]), std::abs(dual_[2 * i + 1])});
        }
        result.iterations = iteration;
        result.converged = mu < closeness * scale && now.largest_residual < closeness &&
                           result.residual_N < 100 * closeness * scale;
        if (result.converged || iteration == most_iterations) break;

        factorise();
        solve_for_step();
        const SideStep affine = predict_sides(sides_, du_.data());
        const double reach = affine.shrink <= 1 ? 1.0 : 1 / affine.shrink;
        const double mu_affine =
            (now.product + reach * affine.mixed + reach * reach * affine.square) / count;
        // Now and then the corrector sends the iterates round in a circle; plain steps along the
        // middle of the sides leave it.
        const bool plain = iteration >= most_corrected;
        if (plain) std::fill(sides_.step_slack.begin(), sides_.step_slack.end(), 0.0);
        const double centring = std::max(std::pow(mu_affine / mu, 3), plain ? 0.2 : 0.0);
        correct_sides(sides_, centring * mu, sums_.data());
        solve_for_step();
        const double shrink = step_sides(sides_, du_.data());
        const double step = std::min(1.0, 0.995 / std::max(shrink, 1.0));
        for (int k = 0; k < 2 * n_; ++k) u_[k] += step * du_[k];
        advance_sides(sides_, step);
    }
    result.offset_mm.resize(n_);
    for (int i = 0; i < n_; ++i) result.offset_mm[i] = Vec2(u_[2 * i], u_[2 * i + 1]);
    // The method leaves a trace of force on every side; that is no contact.
    const double least = 1e-4 * scale;
    for (int i = 0; i < n_; ++i) {
        for (int j = 0; j < sides_.sides; ++j) {
            const double force = sides_.force[static_cast<std::size_t>(i) * sides_.sides + j];
            if (force > least) result.contacts.push_back({i, j, 0, force});
        }
    }
    return result;
}

}  // namespace

RodSolution solve_by_interior_point(const RodProblem& problem, double closeness) {
    return InteriorPoint(problem).run(closeness);
}

}  // namespace anfract
