#include "rod.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "cutting.h"
#include "rod_line.h"
#include "round_wall.h"

namespace anfract {
namespace {

/// How far the wall gives at a node, per force. A patch of dentine (some 15 GPa, from memory) under
/// a contact of 0.1 mm gives about 7e-4 mm/N; this is stiffer still, since its purpose is to keep
/// the problem solvable where the device is as wide as the canal.
constexpr double wall_compliance_mm_per_N = 2e-4;

constexpr double least_share = 0.15;

/// How far a line may be laid from the one before, but for the first: beyond, walls seen from there
/// say little.
constexpr double farthest_move_mm = 0.2;

/// After so many rounds the one that moved least is kept.
constexpr int usual_rounds = 8;

/// Freedom left to a device at a place where it is as wide as the canal, or wider and cutting.
constexpr double bound_freedom_mm = 2e-4;

/// Clearance below which the wall between two sides of an oval section may be nearer than they are.
constexpr double nearly_bound_mm = 5e-3;

/// How far out the sides of a section must lie at least: where the device is as wide as the canal
/// it sits in the largest disc.
Eigen::Array<double, side_count, 1> held_mm(const GuideSection& section, double radius_mm) {
    const auto& n = side_normals();
    return radius_mm + bound_freedom_mm + n.col(0) * section.incentre_mm.x() +
           n.col(1) * section.incentre_mm.y();
}

/// One device at one depth: the rounds and what they leave behind.
class Rod {
  public:
    Rod(const Guide& guide, const Beam& beam, double tip_depth_mm, const RodOptions& options,
        const RodState* near)
        : guide_(guide),
          beam_(beam),
          options_(options),
          inside_mm_(tip_depth_mm - guide.orifice_mm()),
          count_(std::max(5, static_cast<int>(std::ceil(inside_mm_ / options.spacing_mm)) + 1)),
          line_(near ? line_along(guide, near->point_P, near->depth_mm, tip_depth_mm, count_)
                     : line_of_canal(guide, tip_depth_mm, count_)),
          coronal_(guide.place(guide.orifice_mm()).tangent_P),
          tip_depth_mm_(tip_depth_mm),
          near_(near != nullptr) {
        if (near) {
            take_load_of(*near);
            state_.shrink = near->shrink;
        }
    }

    /// @param close_mm  how far the next round may be expected to move it yet
    /// @param loose     how exactly rounds are solved, see solve()
    RodState run(double close_mm, double loose);
    /// The canal's own line, solved roughly.
    RodState run_roughly();

  private:
    void take_load_of(const RodState& near);
    RodProblem problem();
    void set_sides(RodProblem& problem, int i);
    void press(const RodContact& contact, Vec3& force, double& wedge) const;
    void take(const RodProblem& problem, const RodSolution& solution);
    void walk_up(const RodSolution& solution);
    void set_share();
    std::vector<Vec3> moved_part() const;
    bool settled(double close_mm) const;

    const Guide& guide_;
    const Beam& beam_;
    RodOptions options_;
    double inside_mm_;
    int count_;
    RodLine line_;
    Vec3 coronal_;
    double tip_depth_mm_;
    bool near_;  // the first line goes through a rod much like the one looked for
    std::vector<Vec2> load_N_;
    std::vector<Vec3> moment_Nmm_;
    std::vector<Vec3> last_move_P_;
    std::vector<Vec2> last_load_N_;
    double share_ = 1;   // of the move found, that the next line is laid through
    double change_ = 0;  // of the side load in the last round, relative
    RodState state_;
};

void Rod::take_load_of(const RodState& near) {
    load_N_.reserve(count_);
    for (int i = 0; i < count_; ++i) {
        const double place = i * line_.spacing_mm / near.spacing_mm;
        const Vec3 side = line_.spacing_mm * between(near.side_load_N_per_mm, place);
        load_N_.emplace_back(side.dot(line_.n1_P[i]), side.dot(line_.n2_P[i]));
    }
}

void Rod::set_sides(RodProblem& problem, int i) {
    const double radius = problem.radius_mm[i];
    const GuidePlace& place = line_.place[i];
    const GuideSection section = guide_.section(line_.depth_mm[i]);
    const Vec3 away = line_.point_P[i] - place.point_P;
    // How the canal's normals look from the line's frame.
    problem.side_frame[i] << place.n1_P.dot(line_.n1_P[i]), place.n2_P.dot(line_.n1_P[i]),
        place.n1_P.dot(line_.n2_P[i]), place.n2_P.dot(line_.n2_P[i]);
    const auto& n = side_normals();
    auto gap = problem.gap_mm.col(i);
    gap = section.support_mm;
    if (section.inradius_mm < radius + nearly_bound_mm) {
        const auto held = held_mm(section, radius);
        gap = held + RoundWall::clear_beyond((gap - held).max(0));
    }
    gap -= radius + n.col(0) * away.dot(place.n1_P) + n.col(1) * away.dot(place.n2_P);
}

/// Adds what a contact presses on the wall with (N, P), and what the wall's slope gives of it along
/// the canal.
void Rod::press(const RodContact& contact, Vec3& force, double& wedge) const {
    const int i = contact.node;
    const double x = line_.spacing_mm * (count_ - 1 - i);
    const double held = beam_.radius_mm(x) + bound_freedom_mm;
    const auto [incentre, inradius] = guide_.disc_mm(line_.depth_mm[i]);
    const Eigen::Array3d share = RoundWall::shares(contact.beside);
    const auto& n = side_normals();
    Vec2 toward(0, 0);
    double slope = 0;
    for (int k = -1; k <= 1; ++k) {
        const int side = (contact.side + k + side_count) % side_count;
        const Vec2 normal(n(side, 0), n(side, 1));
        const Guide::Support wall = guide_.support(side, line_.depth_mm[i]);
        toward += share[k + 1] * normal;
        // A wall that the device itself has made has the device's own slope.
        const bool made = held > inradius && wall.mm < held + normal.dot(incentre);
        slope += share[k + 1] * (made ? -beam_.radius_slope(x) : wall.slope);
    }
    toward.normalize();
    force +=
        contact.force_N * (toward.x() * line_.place[i].n1_P + toward.y() * line_.place[i].n2_P);
    wedge += contact.force_N * slope;
}

RodProblem Rod::problem() {
    RodProblem p;
    p.spacing_mm = line_.spacing_mm;
    p.curvature_per_mm = line_.curvature_per_mm;
    p.law = beam_.curve().linear() ? nullptr : &beam_.curve();
    p.compliance_mm_per_N = wall_compliance_mm_per_N;
    if (beam_.device().cuts()) {
        p.compliance_mm_per_N += cut_per_pressure_mm2_per_N(options_.friction, options_.speed_rpm,
                                                            options_.feed_mm_per_s) /
                                 line_.spacing_mm;
    }
    p.load_N = load_N_;
    p.stiffness_Nmm2.resize(count_);
    p.radius_mm.resize(count_);
    p.side_frame.resize(count_);
    p.gap_mm.resize(side_count, count_);
    for (int i = 0; i < count_; ++i) {
        const double x = line_.spacing_mm * (count_ - 1 - i);
        p.stiffness_Nmm2[i] = beam_.stiffness_Nmm2(x);
        p.radius_mm[i] = beam_.radius_mm(x);
        set_sides(p, i);
    }
    if (options_.access == Access::Axial) {
        // Moment alone passes between handle and orifice, so that part and the half piece below the
        // orifice are a rotational spring.
        const double x = line_.spacing_mm * (count_ - 1);
        const double flexibility = beam_.flexibility_per_Nmm(x, options_.handle_mm) +
                                   line_.spacing_mm / 2 / p.stiffness_Nmm2[0];
        p.end_spring_Nmm = 1 / flexibility;
        const Vec3 turn = (line_.point_P[1] - line_.point_P[0]).normalized() - coronal_;
        p.end_turn = Vec2(turn.dot(line_.n1_P[0]), turn.dot(line_.n2_P[0]));
    }
    return p;
}

/// Reads the device out of a solution, and sets stiffness and side load for the next round.
void Rod::take(const RodProblem& p, const RodSolution& solution) {
    const double h = p.spacing_mm;
    const auto& u = solution.offset_mm;
    RodState& st = state_;
    st.spacing_mm = h;
    st.depth_mm = line_.depth_mm;
    st.point_P.resize(count_);
    st.centre_P.resize(count_);
    st.from_tip_mm.resize(count_);
    st.curvature_per_mm.assign(count_, Vec3::Zero());
    st.strain.assign(count_, 0.0);
    moment_Nmm_.assign(count_, Vec3::Zero());
    st.moved_mm = 0;
    st.bending_energy_Nmm = 0;
    for (int i = 0; i < count_; ++i) {
        st.from_tip_mm[i] = h * (count_ - 1 - i);
        st.point_P[i] = line_.point_P[i] + u[i].x() * line_.n1_P[i] + u[i].y() * line_.n2_P[i];
        st.centre_P[i] = line_.place[i].point_P;
        st.moved_mm = std::max(st.moved_mm, u[i].squaredNorm());
        const double radius = p.radius_mm[i], stiffness = p.stiffness_Nmm2[i];
        Vec2 bend(0, 0), moment(0, 0);
        double strain = 0;
        MomentCurve::Value law;
        if (i > 0 && i + 1 < count_) {
            bend = p.curvature_per_mm[i] + (u[i - 1] - 2 * u[i] + u[i + 1]) / (h * h);
            strain = bend.norm() * radius;
            law = beam_.curve().at(strain);
            moment = stiffness * law.secant * bend;
        } else if (i == 0 && p.end_spring_Nmm > 0) {
            moment = p.end_spring_Nmm * ((u[1] - u[0]) / h + p.end_turn);
            bend = moment / stiffness;
            strain = bend.norm() * radius;
            law = beam_.curve().at(strain);
        }
        st.curvature_per_mm[i] = bend.x() * line_.n1_P[i] + bend.y() * line_.n2_P[i];
        moment_Nmm_[i] = moment.x() * line_.n1_P[i] + moment.y() * line_.n2_P[i];
        st.strain[i] = strain;
        const double share = i == 0 || i + 1 == count_ ? 0.5 : 1.0;
        st.bending_energy_Nmm += share * h * stiffness * law.energy / (radius * radius);
    }
    st.moved_mm = std::sqrt(st.moved_mm);
    walk_up(solution);
}

/// Of the friction of a device that turns while it advances: what acts along it.
double share_along(const RodOptions& options, double radius_mm) {
    const double rim_mm_per_s = options.speed_rpm / 60 * 2 * std::numbers::pi * radius_mm;
    if (rim_mm_per_s <= 0) return 1;
    return options.feed_mm_per_s / std::hypot(options.feed_mm_per_s, rim_mm_per_s);
}

/// Axial force from the tip up [Johancsik1984]: what bends the device (kappa dM), what wedges it,
/// what rubs.
void Rod::walk_up(const RodSolution& solution) {
    RodState& st = state_;
    const std::vector<Vec3> tangent = tangents_of(st.point_P);
    st.contact_N.assign(count_, Vec3::Zero());
    st.compression_N.assign(count_, 0.0);
    st.side_load_N_per_mm.assign(count_, Vec3::Zero());
    st.torque_Nmm = 0;
    std::vector<Vec2> load(count_, Vec2::Zero());
    double force = 0, without_friction = 0, largest_load = 1e-18, largest_change = 0;
    auto next = solution.contacts.rbegin();
    for (int i = count_ - 1; i >= 0; --i) {
        if (i + 1 < count_) {
            const double bending = -0.5 * (st.curvature_per_mm[i] + st.curvature_per_mm[i + 1])
                                              .dot(moment_Nmm_[i + 1] - moment_Nmm_[i]);
            force += bending;
            without_friction += bending;
        }
        Vec3 pressed(0, 0, 0);
        double sloped = 0, size = 0;
        for (; next != solution.contacts.rend() && next->node == i; ++next) {
            press(*next, pressed, sloped);
        }
        const double below = force;
        if (pressed != Vec3(0, 0, 0)) {
            const double wedge = pressed.dot(tangent[i]) - sloped;
            size = pressed.norm();
            const double radius = beam_.radius_mm(st.from_tip_mm[i]);
            force += wedge + options_.friction * size * share_along(options_, radius);
            without_friction += wedge;
            st.torque_Nmm += options_.friction * size * radius;
            st.contact_N[i] = pressed;
        }
        st.compression_N[i] = force;

        st.side_load_N_per_mm[i] = -0.5 * (below + force) * st.curvature_per_mm[i];
        const Vec3 side = st.spacing_mm * st.side_load_N_per_mm[i];
        load[i] = Vec2(side.dot(line_.n1_P[i]), side.dot(line_.n2_P[i]));
        largest_load = std::max({largest_load, load[i].squaredNorm(), size * size});
        const Vec2 old = load_N_.empty() ? Vec2(0, 0) : load_N_[i];
        largest_change = std::max(largest_change, (load[i] - old).squaredNorm());
    }
    change_ = std::sqrt(largest_change / largest_load);
    load_N_ = std::move(load);
    st.push_N = std::max(force, 0.0);
    st.push_without_friction_N = without_friction;
}

/// Aitken's relaxation of a repeated map [IronsTuck1969]: where the last two moves show that the
/// rounds swing past their aim (a sharp bend, contacts that come and go), only a share is taken.
void Rod::set_share() {
    double turned = 0, size = 0;
    for (int i = 0; i < count_; ++i) {
        const Vec3 move = state_.point_P[i] - line_.point_P[i];
        if (!last_move_P_.empty()) {
            const Vec3 difference = move - last_move_P_[i];
            turned -= last_move_P_[i].dot(difference);
            size += difference.squaredNorm();
        }
    }
    if (size > 0) {
        share_ = std::clamp(share_ * turned / size, least_share, 1.0);
        share_ = std::min(share_, farthest_move_mm / std::max(state_.moved_mm, farthest_move_mm));
        for (int i = 0; i < count_; ++i)
            load_N_[i] = last_load_N_[i] + share_ * (load_N_[i] - last_load_N_[i]);
    }
    last_load_N_ = load_N_;
    last_move_P_.resize(count_);
    for (int i = 0; i < count_; ++i) last_move_P_[i] = state_.point_P[i] - line_.point_P[i];
}

/// The points that the next line is laid through.
std::vector<Vec3> Rod::moved_part() const {
    std::vector<Vec3> points(count_);
    for (int i = 0; i < count_; ++i) points[i] = line_.point_P[i] + share_ * last_move_P_[i];
    return points;
}

/// Rounds come nearer to their aim by about the same factor each; a move is followed by one as much
/// smaller.
bool Rod::settled(double close_mm) const {
    constexpr double usual_shrink = 0.1, least_shrink = 0.02, close_change = 1e-3;
    const double shrink =
        state_.shrink > 0 ? std::clamp(state_.shrink, least_shrink, 1.0) : usual_shrink;
    return state_.moved_mm * shrink < close_mm && change_ < close_change;
}

RodState Rod::run_roughly() {
    const RodProblem p = problem();
    const RodSolution solution = solve_roughly(p);
    take(p, solution);
    state_.rounds = 1;
    state_.iterations = solution.iterations;
    state_.converged = solution.converged;
    return std::move(state_);
}

RodState Rod::run(double close_mm, double loose) {
    RodSolution solution;
    RodState nearest;
    const std::vector<Vec2> on_line(
        count_, Vec2::Zero());  // the line goes through the rod of the round before
    for (int round = 0; round < options_.most_rounds; ++round) {
        if (round > 0) {
            set_share();
            RodLine next = line_through(guide_, moved_part(), line_, tip_depth_mm_);
            if (next.node_count() == 0) {  // the points found lie in a tangle
                state_.converged = false;
                break;
            }
            line_ = std::move(next);
        }
        const RodProblem p = problem();
        solution = solve(p, round > 0 || near_ ? &on_line : nullptr, round == 0 ? loose : 0);
        const double before = state_.moved_mm;
        take(p, solution);
        if (round > 0 && before > 0) state_.shrink = state_.moved_mm / before;
        state_.rounds = round + 1;
        state_.iterations += solution.iterations;
        state_.converged = solution.converged;
        // What fills the canal hardly moves even from the canal's own line, whose bend is not yet
        // its own; only what lies loose is done in one round from there.
        const bool from_rod = round > 0 || near_ || solution.contacts.empty();
        if (!solution.converged || (from_rod && settled(close_mm))) return std::move(state_);
        // A device that lies loose may shift from round to round at the same energy.
        if (round >= usual_rounds && (!nearest.converged || state_.moved_mm < nearest.moved_mm)) {
            nearest = state_;
        }
    }
    return std::move(nearest.converged ? nearest : state_);
}

}  // namespace

namespace {

/// Spacings that a rod of which nothing is known is found at, one after the other, the finest last:
/// contacts are found where they cost least.
std::vector<double> levels_of(double spacing_mm) {
    constexpr double usual_mm = 0.25, next = 4;
    std::vector<double> levels{spacing_mm};
    while (levels.back() < 0.75 * usual_mm) {
        levels.push_back(std::min(next * levels.back(), usual_mm));
    }
    std::reverse(levels.begin(), levels.end());
    return levels;
}

}  // namespace

RodState hold_rod(const Guide& guide, const Beam& beam, double tip_depth_mm,
                  const RodOptions& options, const RodState* near) {
    constexpr double rough_mm = 0.6;
    constexpr double close_mm = 2e-5, on_the_way_mm = 2e-4, loose = 1e-5;
    const auto rod = [&](double spacing_mm, const RodState* from) {
        RodOptions with = options;
        with.spacing_mm = spacing_mm;
        return Rod(guide, beam, tip_depth_mm, with, from);
    };
    if (near || options.most_rounds == 1) return rod(options.spacing_mm, near).run(close_mm, 0);
    RodState state = rod(std::max(rough_mm, options.spacing_mm), nullptr).run_roughly();
    const std::vector<double> levels = levels_of(options.spacing_mm);
    for (const double spacing_mm : levels) {
        const RodState* from = state.converged ? &state : nullptr;
        const int rounds = state.rounds, iterations = state.iterations;
        state = spacing_mm == levels.back() ? rod(spacing_mm, from).run(close_mm, 0)
                                            : rod(spacing_mm, from).run(on_the_way_mm, loose);
        state.rounds += rounds;
        state.iterations += iterations;
    }
    return state;
}

}  // namespace anfract
