#include "contact_qp.h"

#include <algorithm>
#include <cmath>

#include "banded.h"

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
          m_(static_cast<int>(problem.gap_mm.rows())),
          hessian_(energy_hessian(problem)),
          u_(2 * n_, 0.0),
          weight_(m_, n_),
          primal_(m_, n_),
          turn_(m_, n_) {}

    RodSolution run(const RodSolution* start);

  private:
    void start_cold();
    void start_warm(const RodSolution& start);
    double force_scale() const;
    void residuals();
    void factorise();
    void direction(const ArrayXXd& shift);
    double step_length() const;
    void add_sides(const ArrayXXd& force, double sign, std::vector<double>& nodes) const;
    void sides_of(const std::vector<double>& nodes, ArrayXXd& sides) const;

    const RodProblem& p_;
    int n_, m_;
    BandedMatrix hessian_, factor_{0};
    std::vector<double> u_, dual_, du_;
    ArrayXXd s_, z_, ds_, dz_;
    ArrayXXd inverse_s_, inverse_z_, weight_, primal_, turn_, pull_, shift_;
};

void InteriorPoint::add_sides(const ArrayXXd& force, double sign,
                              std::vector<double>& nodes) const {
    for (int i = 0; i < n_; ++i) {
        nodes[2 * i] += sign * (p_.side_x.col(i) * force.col(i)).sum();
        nodes[2 * i + 1] += sign * (p_.side_y.col(i) * force.col(i)).sum();
    }
}

void InteriorPoint::sides_of(const std::vector<double>& nodes, ArrayXXd& sides) const {
    for (int i = 0; i < n_; ++i) {
        sides.col(i) = p_.side_x.col(i) * nodes[2 * i] + p_.side_y.col(i) * nodes[2 * i + 1];
    }
}

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

void InteriorPoint::start_cold() {
    s_ = p_.gap_mm.max(0.02);
    z_ = ArrayXXd::Constant(m_, n_, 0.1 * force_scale());
}

void InteriorPoint::start_warm(const RodSolution& start) {
    // Offsets start from the line itself, since the line of a follow-up problem has moved with the
    // rod. Pairs are pushed back inside so that the product is even.
    const double aim = 1e-3 * force_scale() * 0.05;
    s_ = p_.gap_mm.max(1e-4);
    z_ = start.force_N.max(aim / s_);
    s_ = s_.max(aim / z_);
}

void InteriorPoint::residuals() {
    dual_ = energy_gradient(p_, u_);
    add_sides(z_, 1.0, dual_);
    sides_of(u_, primal_);
    primal_ += s_ - p_.gap_mm - p_.compliance_mm_per_N * z_;
}

void InteriorPoint::factorise() {
    // Divisions cost most of an iteration: each slack and force is inverted once.
    inverse_s_ = s_.inverse();
    inverse_z_ = z_.inverse();
    weight_ = z_ / (s_ + p_.compliance_mm_per_N * z_);
    factor_ = hessian_;
    for (int i = 0; i < n_; ++i) {
        const auto x = p_.side_x.col(i), y = p_.side_y.col(i);
        const auto w = weight_.col(i);
        factor_.at(2 * i, 2 * i) += (w * x * x).sum();
        factor_.at(2 * i + 1, 2 * i) += (w * x * y).sum();
        factor_.at(2 * i + 1, 2 * i + 1) += (w * y * y).sum();
    }
    factor_.factorise();
}

/// Newton direction that brings s z to `s z - shift` to first order.
void InteriorPoint::direction(const ArrayXXd& shift) {
    pull_ = weight_ * (primal_ - shift * inverse_z_);
    du_.assign(2 * n_, 0.0);
    for (int k = 0; k < 2 * n_; ++k) du_[k] = -dual_[k];
    add_sides(pull_, -1.0, du_);
    factor_.solve(du_);
    sides_of(du_, turn_);
    dz_ = weight_ * turn_ + pull_;
    ds_ = -(shift + s_ * dz_) * inverse_z_;
}

double InteriorPoint::step_length() const {
    // 1 / step is the largest relative decrease of any slack or force.
    const double shrink = -std::min((ds_ * inverse_s_).minCoeff(), (dz_ * inverse_z_).minCoeff());
    return shrink <= 1.0 ? 1.0 : 1.0 / shrink;
}

RodSolution InteriorPoint::run(const RodSolution* start) {
    const bool warm = start && start->force_N.rows() == m_ && start->force_N.cols() == n_;
    if (warm) {
        start_warm(*start);
    } else {
        start_cold();
    }
    const double scale = force_scale();
    constexpr int most_iterations = 60;
    constexpr double tolerance_mm = 1e-7;
    RodSolution result;
    for (int iteration = 0;; ++iteration) {
        residuals();
        const double mu = (s_ * z_).mean();
        result.iterations = iteration;
        result.complementarity_Nmm = mu;
        result.residual_mm = primal_.abs().maxCoeff();
        result.residual_N = 0;
        for (const double r : dual_) result.residual_N = std::max(result.residual_N, std::abs(r));
        result.converged = mu < 1e-7 * scale && result.residual_mm < tolerance_mm &&
                           result.residual_N < 1e-5 * scale;
        if (result.converged || iteration == most_iterations) break;

        factorise();
        shift_ = s_ * z_;
        direction(shift_);
        const double affine = step_length();
        const double mu_affine = ((s_ + affine * ds_) * (z_ + affine * dz_)).mean();
        const double centring = std::pow(mu_affine / mu, 3);
        shift_ += ds_ * dz_ - centring * mu;
        direction(shift_);
        const double step = std::min(1.0, 0.995 * step_length());
        for (int k = 0; k < 2 * n_; ++k) u_[k] += step * du_[k];
        s_ += step * ds_;
        z_ += step * dz_;
    }
    result.offset_mm.resize(n_);
    for (int i = 0; i < n_; ++i) result.offset_mm[i] = Vec2(u_[2 * i], u_[2 * i + 1]);
    result.force_N = std::move(z_);
    result.slack_mm = std::move(s_);
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
