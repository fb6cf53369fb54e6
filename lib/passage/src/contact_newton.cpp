#include "contact_newton.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "rod_energy.h"
#include "round_wall.h"

namespace anfract {
namespace {

Eigen::Map<const Eigen::VectorXd> flat(const std::vector<double>& values) {
    return {values.data(), static_cast<Eigen::Index>(values.size())};
}

class Newton {
  public:
    Newton(const RodProblem& problem, const std::vector<double>& start)
        : p_(problem),
          n_(problem.node_count()),
          sides_(static_cast<int>(problem.gap_mm.rows())),
          wall_N_per_mm_(1 / std::max(problem.compliance_mm_per_N, least_compliance_mm_per_N)),
          energy_(problem),
          wall_(sides_),
          control_mm_(wall_.control(problem.gap_mm)),
          nearest_mm_(n_),
          matrix_(n_),
          u_(start),
          trial_(2 * n_),
          step_(2 * n_) {
        for (int i = 0; i < n_; ++i) nearest_mm_[i] = control_mm_.col(i).minCoeff();
    }

    RodSolution run(int most_steps, double loose);

  private:
    struct Place {
        double energy = 0;
        std::vector<double> gradient;
        std::vector<RodEnergy::Tangent> bending, wall;  // wall: second derivatives of its energy
        std::vector<RodContact> contacts;
    };
    void evaluate(const std::vector<double>& u, Place& place);
    void touch(const std::vector<double>& u, int i, Place& place) const;
    void find_step(const Place& here);
    void search(const Place& here, Place& there);
    double along_step(const Place& place) const;

    const RodProblem& p_;
    int n_, sides_;
    double wall_N_per_mm_;
    RodEnergy energy_;
    RoundWall wall_;
    Eigen::ArrayXXd control_mm_;
    std::vector<double> nearest_mm_;  // offsets below this touch nothing: a frame only shortens
    BandedMatrix matrix_;
    std::vector<double> u_, trial_, step_;
};

void Newton::touch(const std::vector<double>& u, int i, Place& place) const {
    const Eigen::Matrix2d& frame = p_.side_frame[i];
    const Vec2 seen = frame.transpose() * Vec2(u[2 * i], u[2 * i + 1]);
    std::array<RoundWall::Contact, RoundWall::most_contacts> found;
    const int count = wall_.contacts(&control_mm_(0, i), seen, found.data());
    if (count == 0) return;
    Vec2 push(0, 0);
    Eigen::Matrix2d stiffness = Eigen::Matrix2d::Zero();
    for (int k = 0; k < count; ++k) {
        const RoundWall::Contact& c = found[k];
        place.energy += 0.5 * wall_N_per_mm_ * c.depth_mm * c.depth_mm;
        push += c.depth_mm * c.toward;
        stiffness += c.toward * c.toward.transpose() + c.depth_mm * c.curvature;
        place.contacts.push_back({i, c.side, c.beside, wall_N_per_mm_ * c.depth_mm});
    }
    const Vec2 force = wall_N_per_mm_ * (frame * push);
    place.gradient[2 * i] += force.x();
    place.gradient[2 * i + 1] += force.y();
    stiffness = wall_N_per_mm_ * (frame * stiffness * frame.transpose());
    place.wall[i] = {stiffness(0, 0), stiffness(1, 0), stiffness(1, 1)};
}

void Newton::evaluate(const std::vector<double>& u, Place& place) {
    place.energy = energy_.evaluate(u, place.gradient, place.bending);
    place.wall.assign(n_, {0, 0, 0});
    place.contacts.clear();
    for (int i = 0; i < n_; ++i) {
        const double x = u[2 * i], y = u[2 * i + 1];
        if (nearest_mm_[i] > 0 && x * x + y * y < nearest_mm_[i] * nearest_mm_[i]) continue;
        touch(u, i, place);
    }
}

void Newton::find_step(const Place& here) {
    energy_.hessian(here.bending, matrix_);
    // A rod that touches nothing may lie anywhere: it stays where it is.
    const double length = p_.spacing_mm * (n_ - 1);
    const double hold = 1e-5 * p_.stiffness_Nmm2[1] / (length * length * length);
    for (int i = 0; i < n_; ++i) {
        Block& own = matrix_.node(i).own;
        own.xx += here.wall[i].xx + hold;
        own.xy += here.wall[i].xy;
        own.yy += here.wall[i].yy + hold;
    }
    matrix_.factorise();
    for (int k = 0; k < 2 * n_; ++k) step_[k] = -here.gradient[k];
    matrix_.solve(step_);
}

double Newton::along_step(const Place& place) const {
    return flat(place.gradient).dot(flat(step_));
}

/// The whole step, or less of it where that overshoots: the slope of a convex energy along the step
/// rises, and its zero is found by false position.
void Newton::search(const Place& here, Place& there) {
    constexpr int most_trials = 12;
    constexpr double enough = 0.3;  // of the first slope
    const double first = along_step(here);
    double low = 0, slope_low = first, high = 0, slope_high = 0, t = 1;
    for (int trial = 0; trial <= most_trials; ++trial) {
        for (int k = 0; k < 2 * n_; ++k) trial_[k] = u_[k] + t * step_[k];
        evaluate(trial_, there);
        const double slope = along_step(there);
        if (trial == 0 && slope <= 1e-12 * -first) break;
        if (std::abs(slope) <= enough * -first && there.energy <= here.energy) break;
        (slope > 0 ? high : low) = t;
        (slope > 0 ? slope_high : slope_low) = slope;
        t = low + (high - low) * std::clamp(-slope_low / (slope_high - slope_low), 0.1, 0.9);
    }
}

RodSolution Newton::run(int most_steps, double loose) {
    const double enough_N = 1e-6 * energy_.force_scale_N();
    Place here, there;
    evaluate(u_, here);
    RodSolution result;
    for (int step = 0;; ++step) {
        result.residual_N = flat(here.gradient).cwiseAbs().maxCoeff();
        result.iterations = step;
        result.converged = result.residual_N < enough_N;
        if (result.converged || step == most_steps) break;
        find_step(here);
        if (-along_step(here) < 2 * loose * here.energy) {
            result.converged = true;
            break;
        }
        search(here, there);
        std::swap(u_, trial_);
        std::swap(here, there);
    }
    result.offset_mm.reserve(n_);
    for (int i = 0; i < n_; ++i) result.offset_mm.emplace_back(u_[2 * i], u_[2 * i + 1]);
    result.contacts = std::move(here.contacts);
    return result;
}

}  // namespace

RodSolution solve_by_newton(const RodProblem& problem, const std::vector<double>& start_mm,
                            int most_steps, double loose) {
    return Newton(problem, start_mm).run(most_steps, loose);
}

}  // namespace anfract
