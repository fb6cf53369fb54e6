#include "rod_energy.h"

#include <algorithm>
#include <cmath>

namespace anfract {

double RodEnergy::evaluate(const std::vector<double>& u, std::vector<double>& gradient,
                           std::vector<Tangent>& tangent) {
    const int n = p_.node_count();
    const double h = p_.spacing_mm, per_h = 1 / h, per_square = per_h * per_h;
    double energy = 0;
    gradient.resize(2 * n);
    tangent.resize(n);
    moment_.assign(2 * n + 4, 0.0);  // two numbers of nothing on either side
    double* moment = moment_.data() + 2;
    double* g = gradient.data();
    const double* k = p_.curvature_per_mm.front().data();
    for (int i = 1; i + 1 < n; ++i) {
        const double bx = k[2 * i] + (u[2 * i - 2] - 2 * u[2 * i] + u[2 * i + 2]) * per_square;
        const double by =
            k[2 * i + 1] + (u[2 * i - 1] - 2 * u[2 * i + 1] + u[2 * i + 3]) * per_square;
        const double linear = p_.stiffness_Nmm2[i], square = bx * bx + by * by;
        double secant = linear;
        if (!p_.law) {
            tangent[i] = {linear, 0, linear};
            energy += 0.5 * h * linear * square;
        } else {
            const double radius = p_.radius_mm[i];
            const MomentCurve::Value law = p_.law->at(std::sqrt(square) * radius);
            secant = linear * law.secant;
            // Along the bend the tangent stiffness, across it the secant one.
            const double more = square > 0 ? linear * (law.tangent - law.secant) / square : 0;
            tangent[i] = {secant + more * bx * bx, more * bx * by, secant + more * by * by};
            energy += h * linear * law.energy / (radius * radius);
        }
        moment[2 * i] = secant * bx * per_h;
        moment[2 * i + 1] = secant * by * per_h;
    }
    for (int j = 0; j < 2 * n; ++j) g[j] = moment[j - 2] - 2 * moment[j] + moment[j + 2];
    for (int c = 0; c < 2; ++c) {
        const double turn = (u[2 + c] - u[c]) * per_h + p_.end_turn[c];
        const double pull = p_.end_spring_Nmm * turn * per_h;
        energy += 0.5 * pull * h * turn;
        g[2 + c] += pull;
        g[c] -= pull;
    }
    for (std::size_t i = 0; i < p_.load_N.size(); ++i) {
        for (int c = 0; c < 2; ++c) {
            g[2 * i + c] -= p_.load_N[i][c];
            energy -= p_.load_N[i][c] * u[2 * i + c];
        }
    }
    return energy;
}

void RodEnergy::hessian(const std::vector<Tangent>& tangent, BandedMatrix& matrix) const {
    const int n = p_.node_count();
    const double per_cube = 1 / (p_.spacing_mm * p_.spacing_mm * p_.spacing_mm);
    const auto bent = [&](int i) {
        if (i < 1 || i + 1 >= n) return Tangent{0, 0, 0};
        return Tangent{tangent[i].xx * per_cube, tangent[i].xy * per_cube,
                       tangent[i].yy * per_cube};
    };
    // Bends have the stencil (1, -2, 1): what a node shares with itself, the next and the one
    // after.
    Tangent before{0, 0, 0}, here = bent(0), after = bent(1);
    for (int i = 0; i < n; ++i) {
        const auto own = [](double b, double h, double a) { return b + 4 * h + a; };
        const auto next = [](double h, double a) { return -2 * (h + a); };
        const double own_xy = own(before.xy, here.xy, after.xy), next_xy = next(here.xy, after.xy);
        matrix.node(i) = {
            {own(before.xx, here.xx, after.xx), own_xy, own_xy, own(before.yy, here.yy, after.yy)},
            {next(here.xx, after.xx), next_xy, next_xy, next(here.yy, after.yy)},
            {after.xx, after.xy, after.xy, after.yy}};
        before = here;
        here = after;
        after = bent(i + 2);
    }
    const double spring = p_.end_spring_Nmm / (p_.spacing_mm * p_.spacing_mm);
    for (Block* block : {&matrix.node(0).own, &matrix.node(1).own}) {
        block->xx += spring;
        block->yy += spring;
    }
    matrix.node(0).next.xx -= spring;
    matrix.node(0).next.yy -= spring;
}

double RodEnergy::force_scale_N() const {
    double moment = 0;
    for (int i = 1; i + 1 < p_.node_count(); ++i) {
        const double stiffness = p_.stiffness_Nmm2[i];
        moment = std::max(moment, stiffness * stiffness * p_.curvature_per_mm[i].squaredNorm());
    }
    moment = std::sqrt(moment);
    const double length = p_.spacing_mm * (p_.node_count() - 1);
    moment = std::max(moment, p_.end_spring_Nmm * p_.end_turn.norm());
    double load = 0;
    for (const Vec2& f : p_.load_N) load = std::max(load, f.squaredNorm());
    return std::max({moment / length, std::sqrt(load), 1e-6});
}

double objective_Nmm(const RodProblem& problem, const std::vector<Vec2>& offset_mm) {
    std::vector<double> u, gradient;
    for (const Vec2& offset : offset_mm) u.insert(u.end(), {offset.x(), offset.y()});
    std::vector<RodEnergy::Tangent> tangent;
    return RodEnergy(problem).evaluate(u, gradient, tangent);
}

}  // namespace anfract
