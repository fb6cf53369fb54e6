#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <boost/math/special_functions/ellint_1.hpp>
#include <boost/math/special_functions/ellint_2.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <numbers>

#include "anfract/tray/material.h"
#include "dense.h"
#include "moment_curve.h"
#include "rod_energy.h"
#include "rod_problem.h"

namespace anfract {
namespace {

/// A rod of `count` nodes between walls at distance `gap` in `sides` even directions, on a line
/// bent toward x over its middle third.
RodProblem bent_between_walls(int count, int sides, double gap, double curvature) {
    RodProblem p;
    p.spacing_mm = 0.3;
    p.stiffness_Nmm2.assign(count, 12.0);
    for (int i = 0; i < count; ++i) {
        p.curvature_per_mm.emplace_back(i > count / 3 && i < 2 * count / 3 ? curvature : 0.0, 0.03);
    }
    p.side_frame.assign(count, Eigen::Matrix2d::Identity());
    p.gap_mm = Eigen::ArrayXXd::Constant(sides, count, gap);
    p.compliance_mm_per_N = 1e-4;
    return p;
}

// The wall is round: what presses on it lies at its radius and presses straight outward.
TEST(ContactNewton, MeetsTheConditionsOfAMinimum) {
    const RodProblem p = bent_between_walls(40, 24, 0.1, 0.25);
    const RodSolution s = solve(p);
    ASSERT_TRUE(s.converged);
    std::vector<double> force(p.node_count(), 0.0);
    for (const RodContact& contact : s.contacts) {
        EXPECT_GT(contact.force_N, 0);
        force[contact.node] += contact.force_N;
    }
    double largest = 0;
    for (int i = 0; i < p.node_count(); ++i) {
        // Stationarity, with the gradient by central differences of the objective.
        Vec2 gradient(0, 0);
        for (int c = 0; c < 2; ++c) {
            auto up = s.offset_mm, down = s.offset_mm;
            constexpr double step = 1e-5;
            up[i][c] += step;
            down[i][c] -= step;
            gradient[c] = (objective_Nmm(p, up) - objective_Nmm(p, down)) / (2 * step);
        }
        const double size = s.offset_mm[i].norm();
        // Direction and size within what the spline of 24 sides differs from a circle by.
        EXPECT_LT((gradient + force[i] * s.offset_mm[i] / size).norm(), 1e-4 + 2e-3 * force[i]);
        if (force[i] > 0) {
            EXPECT_NEAR(size, 0.1 + p.compliance_mm_per_N * force[i], 2e-5);
        } else {
            EXPECT_LT(size, 0.1 + 2e-5);
        }
        largest = std::max(largest, force[i]);
    }
    EXPECT_GT(largest, 0.3);
}

// Gradient and second derivatives by central differences, with a law that softens.
TEST(RodEnergy, GradientAndHessianAreItsDerivatives) {
    const MomentCurve law((MomentLaw(NamedMaterial::NitiAustenitic)));
    RodProblem p = bent_between_walls(12, 24, 0.1, 0.25);
    p.law = &law;
    p.radius_mm.assign(12, 0.12);
    p.end_spring_Nmm = 7;
    p.end_turn = Vec2(0.02, -0.03);
    p.load_N.assign(12, Vec2(0.1, 0.05));
    RodEnergy energy(p);
    std::vector<double> u(24), gradient, up, down;
    std::vector<RodEnergy::Tangent> tangent, other;
    for (int i = 0; i < 24; ++i) u[i] = 0.003 * std::sin(1.7 * i);
    energy.evaluate(u, gradient, tangent);
    BandedMatrix hessian(12);
    energy.hessian(tangent, hessian);
    const Eigen::MatrixXd kept = dense(hessian, 12);
    for (int i = 0; i < 24; ++i) {
        constexpr double step = 1e-7;
        auto moved = u;
        moved[i] = u[i] + step;
        const double above = energy.evaluate(moved, up, other);
        moved[i] = u[i] - step;
        const double below = energy.evaluate(moved, down, other);
        EXPECT_NEAR((above - below) / (2 * step), gradient[i],
                    1e-5 * energy.force_scale_N() + 1e-5);
        for (int j = i; j < 24; ++j) {
            const double second = (up[j] - down[j]) / (2 * step);
            EXPECT_NEAR(kept(j, i), second, 1e-3 * 12 / std::pow(0.3, 3)) << i << " " << j;
        }
    }
}

RodProblem rod_in_straight_tube(int count, double spacing_mm, double stiffness_Nmm2,
                                double clearance_mm) {
    RodProblem p;
    p.spacing_mm = spacing_mm;
    p.stiffness_Nmm2.assign(count, stiffness_Nmm2);
    p.curvature_per_mm.assign(count, Vec2(0, 0));
    p.side_frame.assign(count, Eigen::Matrix2d::Identity());
    p.gap_mm = Eigen::ArrayXXd::Constant(24, count, clearance_mm);
    p.compliance_mm_per_N = 2e-4;
    return p;
}

// A rod pressed along a straight tube by w per length buckles sideways at F = 2 sqrt(EI w / r)
// [DawsonPaslay1984]: the least over waves q of EI q^2 + w / (r q^2). What holds it against a wave
// of side load here is its stiffness and the round wall, so F(q) is what it answers with, over q^2.
TEST(ContactNewton, ARodPressedIntoATubeBucklesAsDawsonAndPaslayFound) {
    constexpr double clearance = 0.2, pressed_N_per_mm = 0.5, stiffness = 12, spacing = 0.1;
    constexpr int count = 1201;
    RodProblem p = rod_in_straight_tube(count, spacing, stiffness, clearance);
    double least = 1e9;
    for (const double q : {0.45, 0.55, 0.65, 0.75, 0.9}) {
        const double force = 1e-3;
        p.load_N.clear();
        for (int i = 0; i < count; ++i) {
            p.load_N.emplace_back(pressed_N_per_mm * spacing,
                                  force * spacing * std::cos(q * spacing * (i - count / 2)));
        }
        const RodSolution s = solve(p);
        ASSERT_TRUE(s.converged);
        const double answer = force / s.offset_mm[count / 2].y();
        const double r = s.offset_mm[count / 2].x();
        EXPECT_NEAR(answer / (q * q), stiffness * q * q + pressed_N_per_mm / (r * q * q),
                    0.01 * answer / (q * q));
        least = std::min(least, answer / (q * q));
    }
    const double critical = 2 * std::sqrt(stiffness * pressed_N_per_mm / clearance);
    EXPECT_NEAR(least, critical, 0.02 * critical);
}

// A rod that its axial force has buckled into a helix against its tube has the pitch of
// F = 8 pi^2 EI / pitch^2 and presses on the wall with r F^2 / (4 EI) per length
// [LubinskiEtAl1962]. The side load of the axial force is -F kappa.
TEST(ContactNewton, AHelixPressesOnItsTubeAsLubinskiFound) {
    constexpr double clearance = 0.2, stiffness = 12, spacing = 0.1, pitch = 15;
    constexpr int count = 901, turn = 150;
    const double q = 2 * std::numbers::pi / pitch;
    const double force = 8 * std::numbers::pi * std::numbers::pi * stiffness / (pitch * pitch);
    RodProblem p = rod_in_straight_tube(count, spacing, stiffness, clearance);
    for (int i = 0; i < count; ++i) {
        const double angle = q * spacing * i;
        p.load_N.push_back(force * q * q * clearance * spacing *
                           Vec2(std::cos(angle), std::sin(angle)));
    }
    const RodSolution s = solve(p);
    ASSERT_TRUE(s.converged);
    double pressed = 0;
    for (const RodContact& contact : s.contacts) {
        const int from_middle = contact.node - (count - turn) / 2;
        if (from_middle >= 0 && from_middle < turn) pressed += contact.force_N;
    }
    const double per_mm = clearance * force * force / (4 * stiffness);
    EXPECT_NEAR(pressed / pitch, per_mm, 0.01 * per_mm);
    EXPECT_NEAR(s.offset_mm[count / 2].norm(), clearance, 0.001 * clearance);
}

/// The least value of 1/2 u.H u + g.u with |u_i| <= gap, by trying every set of held nodes.
Eigen::VectorXd brute_force(const Eigen::MatrixXd& hessian, const Eigen::VectorXd& gradient,
                            double gap) {
    const int n = static_cast<int>(gradient.size());
    int sets = 1;
    for (int i = 0; i < n; ++i) sets *= 3;
    double best = std::numeric_limits<double>::infinity();
    Eigen::VectorXd answer = Eigen::VectorXd::Zero(n);
    for (int code = 0; code < sets; ++code) {
        std::vector<int> free;
        Eigen::VectorXd u(n);
        for (int i = 0, rest = code; i < n; ++i, rest /= 3) {
            u[i] = (rest % 3 - 1) * gap;
            if (rest % 3 == 1) free.push_back(i);
        }
        if (!free.empty()) {
            const Eigen::VectorXd pull = gradient + hessian * u;
            const Eigen::FullPivLU<Eigen::MatrixXd> lu(hessian(free, free));
            if (!lu.isInvertible()) continue;
            const Eigen::VectorXd move = lu.solve(-pull(free));
            for (std::size_t k = 0; k < free.size(); ++k) u[free[k]] = move[k];
        }
        if (u.cwiseAbs().maxCoeff() > gap * (1 + 1e-9)) continue;
        const double value = 0.5 * u.dot(hessian * u) + gradient.dot(u);
        if (value < best) {
            best = value;
            answer = u;
        }
    }
    return answer;
}

// An independent solver: all 3^9 ways in which nodes of a plane rod may lie on either wall or on
// none.
TEST(ContactNewton, AgreesWithTryingEverySetOfContacts) {
    constexpr int count = 9;
    constexpr double gap = 0.02;
    RodProblem p = bent_between_walls(count, 4, gap, 0.25);
    p.compliance_mm_per_N = 0;
    for (Vec2& k : p.curvature_per_mm) k.y() = 0;
    for (int i = 0; i < count; ++i) p.stiffness_Nmm2[i] *= 1 + 0.2 * i;
    p.end_spring_Nmm = 5;
    p.end_turn = Vec2(0.02, 0);
    // The quadratic's matrix from the objective itself.
    const auto value = [&p](const Eigen::VectorXd& u) {
        std::vector<Vec2> offset;
        for (double x : u) offset.emplace_back(x, 0);
        return objective_Nmm(p, offset);
    };
    Eigen::MatrixXd hessian(count, count);
    Eigen::VectorXd gradient(count);
    const Eigen::VectorXd zero = Eigen::VectorXd::Zero(count);
    for (int i = 0; i < count; ++i) {
        gradient[i] =
            (value(Eigen::VectorXd::Unit(count, i)) - value(-Eigen::VectorXd::Unit(count, i))) / 2;
        for (int j = 0; j < count; ++j) {
            const Eigen::VectorXd a = Eigen::VectorXd::Unit(count, i),
                                  b = Eigen::VectorXd::Unit(count, j);
            hessian(i, j) = value(a + b) - value(a) - value(b) + value(zero);
        }
    }
    const Eigen::VectorXd expected = brute_force(hessian, gradient, gap);
    const RodSolution s = solve(p);
    ASSERT_TRUE(s.converged);
    for (int i = 0; i < count; ++i) {
        // The interior point method ends with contacts open by up to its complementarity over their
        // force.
        EXPECT_NEAR(s.offset_mm[i].x(), expected[i], 1e-5) << i;
    }
    EXPECT_GT((expected.cwiseAbs().array() > gap * 0.999).count(), 2) << "walls were touched";
}

TEST(ContactNewton, StartingFromASolutionTakesFewerIterationsToTheSameEnd) {
    RodProblem p = bent_between_walls(60, 24, 0.1, 0.25);
    const RodSolution cold = solve(p);
    for (double& d : p.stiffness_Nmm2) d *= 1.02;
    const RodSolution warm = solve(p, &cold.offset_mm), again = solve(p);
    ASSERT_TRUE(warm.converged && again.converged);
    EXPECT_LT(warm.iterations, again.iterations);
    for (int i = 0; i < p.node_count(); ++i) {
        EXPECT_NEAR((warm.offset_mm[i] - again.offset_mm[i]).norm(), 0, 1e-4);
    }
}

/// A cantilever: clamped at node 0 by a stiff spring and narrow walls, loaded across at its tip.
double tip_deflection_mm(double load_N, double stiffness_Nmm2, double length_mm, int count) {
    RodProblem p = bent_between_walls(count, 24, 50, 0);
    for (Vec2& k : p.curvature_per_mm) k = Vec2(0, 0);
    p.spacing_mm = length_mm / (count - 1);
    p.stiffness_Nmm2.assign(count, stiffness_Nmm2);
    // Half a piece of the beam lies between the clamp and the middle of the first piece.
    p.end_spring_Nmm = stiffness_Nmm2 / (p.spacing_mm / 2);
    p.gap_mm.col(0) = 1e-6;
    p.compliance_mm_per_N = 0;
    p.load_N.assign(count, Vec2::Zero());
    p.load_N.back() = Vec2(load_N, 0);
    const RodSolution s = solve(p);
    EXPECT_TRUE(s.converged);
    return s.offset_mm.back().x();
}

TEST(ContactNewton, ACantileverBendsAsTheTextbookSays) {
    // w = P l^3 / (3 E I); the error falls with the square of the spacing.
    const double exact = 0.02 * 1000 / (3 * 12.0);
    const double coarse = std::abs(tip_deflection_mm(0.02, 12, 10, 21) / exact - 1);
    const double fine = std::abs(tip_deflection_mm(0.02, 12, 10, 41) / exact - 1);
    EXPECT_LT(coarse, 2e-3);
    EXPECT_NEAR(std::log2(coarse / fine), 2, 0.3);
}

/// Tip deflection over length of the elastica with a tip load across, from elliptic integrals
/// [Bisshopp1945]: with k^2 = (1 + sin theta)/2 and sin phi = 1/(k sqrt 2), theta being the slope
/// of the tip, sqrt(P l^2 / E I) = K(k) - F(k, phi) and w/l = 1 - 2 (E(k) - E(k, phi)) / (K(k) -
/// F(k, phi)).
double elastica_deflection(double load_number) {
    const auto parts = [](double theta) {
        const double k = std::sqrt((1 + std::sin(theta)) / 2);
        const double phi = std::asin(1 / (k * std::numbers::sqrt2));
        return std::pair{boost::math::ellint_1(k) - boost::math::ellint_1(k, phi),
                         boost::math::ellint_2(k) - boost::math::ellint_2(k, phi)};
    };
    boost::uintmax_t most = 100;
    const auto [low, high] = boost::math::tools::toms748_solve(
        [&](double theta) { return std::pow(parts(theta).first, 2) - load_number; }, 1e-6, 1.5,
        boost::math::tools::eps_tolerance<double>(40), most);
    const auto [f, e] = parts((low + high) / 2);
    return 1 - 2 * e / f;
}

// The model of small offsets, before the line is laid anew: within 1 % while the tip moves by at
// most 9.5 % of the length (a slope of 8 degrees), 10 % too much at 30 %.
TEST(ContactNewton, SmallOffsetsFollowTheElasticaInTheStatedRange) {
    const auto error_at = [](double load_number) {
        const double stiffness = 12, length = 10;
        const double load = load_number * stiffness / (length * length);
        const double small = tip_deflection_mm(load, stiffness, length, 101) / length;
        return small / elastica_deflection(load_number) - 1;
    };
    EXPECT_LT(std::abs(error_at(0.1)), 0.002);
    EXPECT_LT(std::abs(error_at(0.29)), 0.01);
    EXPECT_NEAR(error_at(1.0), 0.105, 0.01);               // w/l = 0.333 against 0.3017 exactly
    EXPECT_NEAR(elastica_deflection(1.0), 0.30172, 1e-4);  // table of [Bisshopp1945], from memory
}

}  // namespace
}  // namespace anfract
