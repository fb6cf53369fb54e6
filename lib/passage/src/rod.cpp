#include "rod.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

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
        if (near) take_load_of(*near);
    }

    RodState run();

  private:
    void take_load_of(const RodState& near);
    RodProblem problem();
    void set_sides(RodProblem& problem, int i);
    void press(const RodContact& contact, Vec3& force, double& wedge) const;
    void take(const RodProblem& problem, const RodSolution& solution);
    void walk_up(const RodSolution& solution);
    void set_share();
    std::vector<Vec3> moved_part() const;
    bool settled() const;

    const Guide& guide_;
    const Beam& beam_;
    const RodOptions& options_;
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
    for (int i = 0; i < count_; ++i) {
        const double place = i * line_.spacing_mm / near.spacing_mm;
        const Vec3 side = line_.spacing_mm * between(near.side_load_N_per_mm, place);
        load_N_.emplace_back(side.dot(line_.n1_P[i]), side.dot(line_.n2_P[i]));
    }
}

void Rod::set_sides(RodProblem& problem, int i) {
    const double radius = beam_.radius_mm(line_.spacing_mm * (count_ - 1 - i));
    const GuidePlace& place = line_.place[i];
    const GuideSection section = guide_.section(line_.depth_mm[i]);
    const Vec3 away = line_.point_P[i] - place.point_P;
    // How the canal's normals look from the line's frame.
    problem.side_frame[i] << place.n1_P.dot(line_.n1_P[i]), place.n2_P.dot(line_.n1_P[i]),
        place.n1_P.dot(line_.n2_P[i]), place.n2_P.dot(line_.n2_P[i]);
    const auto& n = side_normals();
    const auto cosine = n.col(0), sine = n.col(1);
    problem.gap_mm.col(i) = section.support_mm.max(held_mm(section, radius)) - radius -
                            cosine * away.dot(place.n1_P) - sine * away.dot(place.n2_P);
}

/// Adds what a contact presses on the wall with (N, P), and what the wall's slope gives of it along
/// the canal.
void Rod::press(const RodContact& contact, Vec3& force, double& wedge) const {
    const int i = contact.node;
    const double x = line_.spacing_mm * (count_ - 1 - i);
    const GuideSection section = guide_.section(line_.depth_mm[i]);
    const Eigen::Array<double, side_count, 1> held = held_mm(section, beam_.radius_mm(x));
    const auto slopes = guide_.support_slope(line_.depth_mm[i]);
    const Eigen::Array3d share = RoundWall::shares(contact.beside);
    const auto& n = side_normals();
    Vec2 toward(0, 0);
    double slope = 0;
    for (int k = -1; k <= 1; ++k) {
        const int side = (contact.side + k + side_count) % side_count;
        toward += share[k + 1] * Vec2(n(side, 0), n(side, 1));
        // A wall that the device itself has made has the device's own slope.
        slope += share[k + 1] *
                 (section.support_mm[side] < held[side] ? -beam_.radius_slope(x) : slopes[side]);
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
        st.moved_mm = std::max(st.moved_mm, u[i].norm());
        const double radius = p.radius_mm[i], stiffness = p.stiffness_Nmm2[i];
        Vec2 bend(0, 0), moment(0, 0);
        if (i > 0 && i + 1 < count_) {
            bend = p.curvature_per_mm[i] + (u[i - 1] - 2 * u[i] + u[i + 1]) / (h * h);
            moment = stiffness * beam_.curve().at(bend.norm() * radius).secant * bend;
        } else if (i == 0 && p.end_spring_Nmm > 0) {
            moment = p.end_spring_Nmm * ((u[1] - u[0]) / h + p.end_turn);
            bend = moment / stiffness;
        }
        st.curvature_per_mm[i] = bend.x() * line_.n1_P[i] + bend.y() * line_.n2_P[i];
        moment_Nmm_[i] = moment.x() * line_.n1_P[i] + moment.y() * line_.n2_P[i];
        st.strain[i] = bend.norm() * radius;
        const double share = i == 0 || i + 1 == count_ ? 0.5 : 1.0;
        st.bending_energy_Nmm +=
            share * h * stiffness * beam_.curve().at(st.strain[i]).energy / (radius * radius);
    }
    walk_up(solution);
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
    double force = 0, without_friction = 0, largest_load = 1e-9, largest_change = 0;
    auto next = solution.contacts.rbegin();
    for (int i = count_ - 1; i >= 0; --i) {
        if (i + 1 < count_) {
            const double bending = -0.5 * (st.curvature_per_mm[i] + st.curvature_per_mm[i + 1])
                                              .dot(moment_Nmm_[i + 1] - moment_Nmm_[i]);
            force += bending;
            without_friction += bending;
        }
        Vec3 pressed(0, 0, 0);
        double sloped = 0;
        for (; next != solution.contacts.rend() && next->node == i; ++next) {
            press(*next, pressed, sloped);
        }
        const double wedge = pressed.dot(tangent[i]) - sloped;
        const double size = pressed.norm();
        const double radius = beam_.radius_mm(st.from_tip_mm[i]);
        const double rim_mm_per_s = options_.speed_rpm / 60 * 2 * std::numbers::pi * radius;
        const double along = rim_mm_per_s > 0 ? options_.feed_mm_per_s /
                                                    std::hypot(options_.feed_mm_per_s, rim_mm_per_s)
                                              : 1;
        const double below = force;
        force += wedge + options_.friction * size * along;
        without_friction += wedge;
        st.torque_Nmm += options_.friction * size * radius;
        st.contact_N[i] = pressed;
        st.compression_N[i] = force;

        st.side_load_N_per_mm[i] = -0.5 * (below + force) * st.curvature_per_mm[i];
        const Vec3 side = st.spacing_mm * st.side_load_N_per_mm[i];
        load[i] = Vec2(side.dot(line_.n1_P[i]), side.dot(line_.n2_P[i]));
        largest_load = std::max({largest_load, load[i].norm(), size});
        const Vec2 old = load_N_.empty() ? Vec2(0, 0) : load_N_[i];
        largest_change = std::max(largest_change, (load[i] - old).norm());
    }
    change_ = largest_change / largest_load;
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

bool Rod::settled() const { return state_.moved_mm < 5e-4 && change_ < 1e-2; }

RodState Rod::run() {
    RodSolution solution;
    RodState nearest;
    const std::vector<Vec2> on_line(
        count_, Vec2::Zero());  // the line goes through the rod of the round before
    for (int round = 0; round < options_.most_rounds; ++round) {
        if (round > 0) {
            set_share();
            line_ = line_through(guide_, moved_part(), line_, tip_depth_mm_);
        }
        const RodProblem p = problem();
        solution = solve(p, round > 0 || near_ ? &on_line : nullptr);
        take(p, solution);
        state_.rounds = round + 1;
        state_.iterations += solution.iterations;
        state_.converged = solution.converged;
        // What fills the canal hardly moves even from the canal's own line, whose bend is not yet
        // its own; only what lies loose is done in one round from there.
        const bool from_rod = round > 0 || near_ || solution.contacts.empty();
        if (!solution.converged || (from_rod && settled())) return state_;
        // A device that lies loose may shift from round to round at the same energy.
        if (round >= usual_rounds && (!nearest.converged || state_.moved_mm < nearest.moved_mm)) {
            nearest = state_;
        }
    }
    return nearest.converged ? nearest : state_;
}

}  // namespace

RodState hold_rod(const Guide& guide, const Beam& beam, double tip_depth_mm,
                  const RodOptions& options, const RodState* near) {
    return Rod(guide, beam, tip_depth_mm, options, near).run();
}

}  // namespace anfract
