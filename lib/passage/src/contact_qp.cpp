#include "contact_qp.h"

#include <algorithm>
#include <cmath>

#include "banded.h"
#include "side_kernels.h"

namespace anfract {
namespace {

using Eigen::ArrayXXd;

/// The bending part of the gradient at `u`, and the load.
std::vector<double> energy_gradient(const RodProblem& p, const std::vector<double>& u) {
    const int n = p.node_count();
    const double h = p.spacing_mm;
    std::vector<double> gradient(2 * n, 0.0);
    for (int i = 1; i + 1 < n; ++i) {
        Vec2 bend = p.curvature_per_mm[i];
        for (int c = 0; c < 2; ++c) {
            bend[c] += (u[2 * i - 2 + c] - 2 * u[2 * i + c] + u[2 * i + 2 + c]) / (h * h);
        }
        Vec2 moment = p.stiffness_Nmm2[i] * bend;
        if (!p.moment_Nmm.empty()) moment += p.moment_Nmm[i];
        for (int c = 0; c < 2; ++c) {
            const double pull = moment[c] / h;
            gradient[2 * i - 2 + c] += pull;
            gradient[2 * i + c] -= 2 * pull;
            gradient[2 * i + 2 + c] += pull;
        }
    }
    for (int c = 0; c < 2; ++c) {
        const double moment = p.end_spring_Nmm * ((u[2 + c] - u[c]) / h + p.end_turn[c]);
        gradient[2 + c] += moment / h;
        gradient[c] -= moment / h;
    }
    for (std::size_t i = 0; i < p.load_N.size(); ++i) {
        for (int c = 0; c < 2; ++c) gradient[2 * i + c] -= p.load_N[i][c];
    }
    return gradient;
}

BandedMatrix energy_hessian(const RodProblem& p) {
    const int n = p.node_count();
    const double h = p.spacing_mm;
    BandedMatrix matrix(2 * n);
    constexpr double stencil[3] = {1, -2, 1};
    for (int i = 1; i + 1 < n; ++i) {
        const Eigen::Matrix2d weight = p.stiffness_Nmm2[i] / (h * h * h);
        for (int a = 0; a < 3; ++a) {
            for (int b = 0; b <= a; ++b) {
                const double share = stencil[a] * stencil[b];
                const int row = 2 * (i - 1 + a), column = 2 * (i - 1 + b);
                matrix.at(row, column) += share * weight(0, 0);
                matrix.at(row + 1, column) += share * weight(1, 0);
                matrix.at(row + 1, column + 1) += share * weight(1, 1);
                if (a > b) matrix.at(row, column + 1) += share * weight(0, 1);
            }
        }
    }
    const double spring = p.end_spring_Nmm / (h * h);
    for (int c = 0; c < 2; ++c) {
        matrix.at(c, c) += spring;
        matrix.at(2 + c, 2 + c) += spring;
        matrix.at(2 + c, c) -= spring;
    }
    return matrix;
}

/// The iterate and the work arrays of the interior point method.
class InteriorPoint {
  public:
    explicit InteriorPoint(const RodProblem& problem)
        : p_(problem),
          n_(problem.node_count()),
          hessian_(energy_hessian(problem)),
          u_(2 * n_, 0.0),
          sums_(n_) {
        sides_.sides = static_cast<int>(problem.gap_mm.rows());
        sides_.nodes = n_;
        sides_.x = problem.side_x.data();
        sides_.y = problem.side_y.data();
        sides_.gap = problem.gap_mm.data();
        sides_.compliance = problem.compliance_mm_per_N;
        sides_.resize();
    }

    RodSolution run(const RodSolution* start);

  private:
    void start_cold(double scale);
    void start_warm(const RodSolution& start, double scale);
    double force_scale() const;
    void factorise();
    void solve_for_step(const std::vector<double>& dual);

    const RodProblem& p_;
    int n_;
    BandedMatrix hessian_, factor_{0};
    std::vector<double> u_, du_;
    SideArrays sides_;
    std::vector<NodeSums> sums_;
};

double InteriorPoint::force_scale() const {
    // Contact forces of a bent rod are about moment over a length of some millimetres.
    double moment = 0;
    for (int i = 1; i + 1 < n_; ++i) {
        moment = std::max(moment, (p_.stiffness_Nmm2[i] * p_.curvature_per_mm[i]).norm());
    }
    const double length = p_.spacing_mm * (n_ - 1);
    moment = std::max(moment, p_.end_spring_Nmm * p_.end_turn.norm());
    double load = 0;
    for (const Vec2& f : p_.load_N) load = std::max(load, f.norm());
    return std::max({moment / length, load, 1e-6});
}

void InteriorPoint::start_cold(double scale) {
    for (std::size_t k = 0; k < sides_.slack.size(); ++k) {
        sides_.slack[k] = std::max(sides_.gap[k], 0.02);
        sides_.force[k] = 0.1 * scale;
    }
}

void InteriorPoint::start_warm(const RodSolution& start, double scale) {
    // Offsets start from the line itself, since the line of a follow-up problem has moved with the
    // rod. Pairs are pushed back inside so that the product is even.
    const double aim = 1e-3 * scale * 0.05;
    const double* force = start.force_N.data();
    for (std::size_t k = 0; k < sides_.slack.size(); ++k) {
        const double slack = std::max(sides_.gap[k], 1e-4);
        sides_.force[k] = std::max(force[k], aim / slack);
        sides_.slack[k] = std::max(slack, aim / sides_.force[k]);
    }
}

void InteriorPoint::factorise() {
    factor_ = hessian_;
    for (int i = 0; i < n_; ++i) {
        factor_.at(2 * i, 2 * i) += sums_[i].xx;
        factor_.at(2 * i + 1, 2 * i) += sums_[i].xy;
        factor_.at(2 * i + 1, 2 * i + 1) += sums_[i].yy;
    }
    factor_.factorise();
}

/// Newton step of the offsets from the residual of equilibrium and the pull of the sides.
void InteriorPoint::solve_for_step(const std::vector<double>& dual) {
    du_.resize(2 * n_);
    for (int i = 0; i < n_; ++i) {
        du_[2 * i] = -dual[2 * i] - sums_[i].pull_x;
        du_[2 * i + 1] = -dual[2 * i + 1] - sums_[i].pull_y;
    }
    factor_.solve(du_);
}

RodSolution InteriorPoint::run(const RodSolution* start) {
    const double scale = force_scale();
    if (start && start->force_N.rows() == sides_.sides && start->force_N.cols() == n_) {
        start_warm(*start, scale);
    } else {
        start_cold(scale);
    }
    constexpr int most_iterations = 60, most_corrected = 20;
    constexpr double tolerance_mm = 1e-7;
    const double count = static_cast<double>(sides_.slack.size());
    RodSolution result;
    for (int iteration = 0;; ++iteration) {
        const SideStatistics now = prepare_sides(sides_, u_.data(), sums_.data());
        const double mu = now.product / count;
        std::vector<double> dual = energy_gradient(p_, u_);
        result.residual_N = 0;
        for (int i = 0; i < n_; ++i) {
            dual[2 * i] += sums_[i].force_x;
            dual[2 * i + 1] += sums_[i].force_y;
            result.residual_N =
                std::max({result.residual_N, std::abs(dual[2 * i]), std::abs(dual[2 * i + 1])});
        }
        result.iterations = iteration;
        result.complementarity_Nmm = mu;
        result.residual_mm = now.largest_residual;
        result.converged = mu < 1e-7 * scale && result.residual_mm < tolerance_mm &&
                           result.residual_N < 1e-5 * scale;
        if (result.converged || iteration == most_iterations) break;

        factorise();
        solve_for_step(dual);
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
        solve_for_step(dual);
        const double shrink = step_sides(sides_, du_.data());
        const double step = std::min(1.0, 0.995 / std::max(shrink, 1.0));
        for (int k = 0; k < 2 * n_; ++k) u_[k] += step * du_[k];
        advance_sides(sides_, step);
    }
    result.offset_mm.resize(n_);
    for (int i = 0; i < n_; ++i) result.offset_mm[i] = Vec2(u_[2 * i], u_[2 * i + 1]);
    result.force_N = Eigen::Map<const ArrayXXd>(sides_.force.data(), sides_.sides, n_);
    return result;
}

}  // namespace

RodSolution solve(const RodProblem& problem, const RodSolution* start) {
    return InteriorPoint(problem).run(start);
}

double objective_Nmm(const RodProblem& p, const std::vector<Vec2>& u) {
    const double h = p.spacing_mm;
    double energy = 0;
    for (int i = 1; i + 1 < p.node_count(); ++i) {
        const Vec2 bend = p.curvature_per_mm[i] + (u[i - 1] - 2 * u[i] + u[i + 1]) / (h * h);
        energy += 0.5 * h * bend.dot(p.stiffness_Nmm2[i] * bend);
        if (!p.moment_Nmm.empty()) energy += h * p.moment_Nmm[i].dot(bend);
    }
    const Vec2 turn = (u[1] - u[0]) / h + p.end_turn;
    energy += 0.5 * p.end_spring_Nmm * turn.squaredNorm();
    for (std::size_t i = 0; i < p.load_N.size(); ++i) energy -= p.load_N[i].dot(u[i]);
    return energy;
}

}  // namespace anfract
