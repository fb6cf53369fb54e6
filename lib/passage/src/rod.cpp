#include "rod.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "anfract/geometry/moving_frame.h"

namespace anfract {
namespace {

/// How far the wall gives at a node, per force. A patch of dentine (some 15 GPa, from memory) under
/// a contact of 0.1 mm gives about 7e-4 mm/N; this is stiffer still, since its purpose is to keep
/// the problem solvable where the device is as wide as the canal.
constexpr double wall_compliance_mm_per_N = 2e-4;

/// Of the secant stiffness; see Rod::set_stiffness.
constexpr double first_least_tangent = 0.5;

constexpr double least_share = 0.15;

/// How far a line may be laid from the one before, but for the first: beyond, walls seen from there
/// say little.
constexpr double farthest_move_mm = 0.2;

/// After so many rounds the one that moved least is kept.
constexpr int usual_rounds = 8;

/// Freedom left to a device at a place where it is as wide as the canal, or wider and cutting.
constexpr double bound_freedom_mm = 2e-4;

/// Evenly spaced nodes with frames, and where they lie in the canal.
struct Line {
    double spacing_mm = 0;
    std::vector<Vec3> point_P, n1_P, n2_P, tangent_P;
    std::vector<Vec2> curvature_per_mm;
    std::vector<double> depth_mm;
};

Line line_of_canal(const Guide& guide, double tip_depth_mm, int count) {
    Line line;
    line.spacing_mm = (tip_depth_mm - guide.orifice_mm()) / (count - 1);
    for (int i = 0; i < count; ++i) {
        const double depth = guide.orifice_mm() + i * line.spacing_mm;
        const GuidePlace place = guide.place(depth);
        line.point_P.push_back(place.point_P);
        line.tangent_P.push_back(place.tangent_P);
        line.n1_P.push_back(place.n1_P);
        line.n2_P.push_back(place.n2_P);
        line.curvature_per_mm.push_back(guide.curvature_per_mm(depth));
        line.depth_mm.push_back(depth);
    }
    return line;
}

std::vector<Vec3> tangents_of(const std::vector<Vec3>& points) {
    const std::size_t n = points.size();
    std::vector<Vec3> tangents(n);
    for (std::size_t i = 1; i + 1 < n; ++i)
        tangents[i] = (points[i + 1] - points[i - 1]).normalized();
    // The circle through the last three points, carried half a piece on.
    tangents[0] = (-1.5 * points[0] + 2 * points[1] - 0.5 * points[2]).normalized();
    tangents[n - 1] = (1.5 * points[n - 1] - 2 * points[n - 2] + 0.5 * points[n - 3]).normalized();
    return tangents;
}

/// The same number of points, evenly spaced along the cubic curve through `points`.
std::vector<Vec3> evened(const std::vector<Vec3>& points) {
    const std::vector<Vec3> tangents = tangents_of(points);
    std::vector<double> arc(points.size(), 0.0);
    for (std::size_t i = 1; i < points.size(); ++i) {
        const double chord = (points[i] - points[i - 1]).norm();
        const double turn = (tangents[i] - tangents[i - 1]).norm();
        arc[i] = arc[i - 1] + chord * (1 + turn * turn / 24);  // arc over chord of a circle
    }
    std::vector<Vec3> even(points.size());
    even.front() = points.front();
    even.back() = points.back();
    std::size_t k = 0;
    for (std::size_t i = 1; i + 1 < points.size(); ++i) {
        const double s =
            arc.back() * static_cast<double>(i) / static_cast<double>(points.size() - 1);
        while (k + 2 < points.size() && arc[k + 1] < s) ++k;
        const double h = arc[k + 1] - arc[k];
        const double t = (s - arc[k]) / h;
        even[i] = (1 + 2 * t) * (1 - t) * (1 - t) * points[k] +
                  t * t * (3 - 2 * t) * points[k + 1] +
                  h * t * (1 - t) * ((1 - t) * tangents[k] - t * tangents[k + 1]);
    }
    return even;
}

/// Depth of the place of the centreline whose normal plane holds `point`, from a guess nearby.
double depth_of(const Guide& guide, const Vec3& point, double guess_mm) {
    double depth = guess_mm;
    for (int i = 0; i < 2; ++i) {
        const GuidePlace place = guide.place(depth);
        depth += (point - place.point_P).dot(place.tangent_P);
    }
    return std::clamp(depth, guide.orifice_mm(), guide.foramen_mm());
}

Line line_through(const Guide& guide, const std::vector<Vec3>& points,
                  const std::vector<double>& old_depth_mm, const Vec3& first_n1) {
    Line line;
    line.point_P = evened(points);
    const std::size_t n = points.size();
    line.tangent_P = tangents_of(line.point_P);
    const auto frames = rotation_minimising_frames(line.point_P, line.tangent_P, first_n1);
    double length = 0;
    for (std::size_t i = 1; i < n; ++i) length += (line.point_P[i] - line.point_P[i - 1]).norm();
    line.spacing_mm = length / static_cast<double>(n - 1);
    for (std::size_t i = 0; i < n; ++i) {
        line.n1_P.push_back(frames[i].n1);
        line.n2_P.push_back(frames[i].n2);
        line.depth_mm.push_back(depth_of(guide, line.point_P[i], old_depth_mm[i]));
        Vec3 bend(0, 0, 0);
        if (i > 0 && i + 1 < n) {
            bend = (line.point_P[i - 1] - 2 * line.point_P[i] + line.point_P[i + 1]) /
                   (line.spacing_mm * line.spacing_mm);
        }
        line.curvature_per_mm.emplace_back(bend.dot(frames[i].n1), bend.dot(frames[i].n2));
    }
    return line;
}

/// One device at one depth: the rounds and what they leave behind.
class Rod {
  public:
    Rod(const Guide& guide, const Beam& beam, double tip_depth_mm, const RodOptions& options)
        : guide_(guide),
          beam_(beam),
          options_(options),
          inside_mm_(tip_depth_mm - guide.orifice_mm()),
          count_(std::max(5, static_cast<int>(std::ceil(inside_mm_ / options.spacing_mm)) + 1)),
          line_(line_of_canal(guide, tip_depth_mm, count_)),
          coronal_(guide.place(guide.orifice_mm()).tangent_P),
          stiffness_Nmm2_(count_),
          bend_per_mm_(count_, Vec3::Zero()) {}

    RodState run();

  private:
    struct Wall {
        Eigen::Array<double, side_count, 3> normal_P;
        Eigen::Array<double, side_count, 1> slope;  ///< of the wall along depth
    };

    RodProblem problem();
    void set_sides(RodProblem& problem, int i);
    void set_stiffness(RodProblem& problem, int i) const;
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
    Line line_;
    Vec3 coronal_;
    std::vector<double> stiffness_Nmm2_;  // at small strain, of this round's nodes
    std::vector<Vec3> bend_per_mm_;       // found by the round before
    std::vector<Wall> walls_;
    std::vector<Vec2> load_N_;
    std::vector<Vec3> moment_Nmm_;
    std::vector<Vec3> last_move_P_;
    std::vector<Vec2> last_load_N_;
    double share_ = 1;  // of the move found, that the next line is laid through
    double least_tangent_ = first_least_tangent;
    double bend_change_ = std::numeric_limits<double>::infinity();
    double change_ =
        0;  // of the bend (softening law only) and of the side load in the last round, relative
    RodState state_;
};

void Rod::set_sides(RodProblem& problem, int i) {
    const double x = line_.spacing_mm * (count_ - 1 - i);
    const double radius = beam_.radius_mm(x);
    const GuidePlace place = guide_.place(line_.depth_mm[i]);
    const GuideSection section = guide_.section(line_.depth_mm[i]);
    const Vec3 away = line_.point_P[i] - place.point_P;
    const Vec2 offset(away.dot(place.n1_P), away.dot(place.n2_P));
    // How the canal's normals look from the line's frame.
    const Vec2 first(place.n1_P.dot(line_.n1_P[i]), place.n1_P.dot(line_.n2_P[i]));
    const Vec2 second(place.n2_P.dot(line_.n1_P[i]), place.n2_P.dot(line_.n2_P[i]));
    const auto& n = side_normals();
    const auto cosine = n.col(0), sine = n.col(1);
    problem.side_x.col(i) = cosine * first.x() + sine * second.x();
    problem.side_y.col(i) = cosine * first.y() + sine * second.y();
    const Eigen::Array<double, side_count, 1> held = radius + bound_freedom_mm +
                                                     cosine * section.incentre_mm.x() +
                                                     sine * section.incentre_mm.y();
    problem.gap_mm.col(i) =
        section.support_mm.max(held) - radius - cosine * offset.x() - sine * offset.y();

    Wall& wall = walls_[i];
    for (int c = 0; c < 3; ++c)
        wall.normal_P.col(c) = cosine * place.n1_P[c] + sine * place.n2_P[c];
    // A wall that the device itself has made has the device's own slope.
    wall.slope = (section.support_mm < held)
                     .select(-beam_.radius_slope(x), guide_.support_slope(line_.depth_mm[i]));
}

/// The moment law linearised at the bend that the round before has found (Newton's method): along
/// that bend the tangent stiffness, across it the secant one, and the moment this leaves at zero
/// bend.
void Rod::set_stiffness(RodProblem& p, int i) const {
    const double linear = stiffness_Nmm2_[i];
    const Vec2 bend(bend_per_mm_[i].dot(line_.n1_P[i]), bend_per_mm_[i].dot(line_.n2_P[i]));
    const double size = bend.norm();
    const double strain = size * beam_.radius_mm(line_.spacing_mm * (count_ - 1 - i));
    const double secant = beam_.law().secant(strain);
    // Where the material flows freely, Newton's method overshoots; the secant stiffness never does.
    // The floor lies between, and rises to the secant once a round has made things worse.
    const double tangent = std::max(beam_.law().tangent(strain), least_tangent_ * secant);
    p.stiffness_Nmm2[i] = linear * secant * Eigen::Matrix2d::Identity();
    if (size > 0) {
        const Vec2 along = bend / size;
        p.stiffness_Nmm2[i] += linear * (tangent - secant) * along * along.transpose();
    }
    p.moment_Nmm[i] = linear * secant * bend - p.stiffness_Nmm2[i] * bend;
}

RodProblem Rod::problem() {
    RodProblem p;
    p.spacing_mm = line_.spacing_mm;
    p.curvature_per_mm = line_.curvature_per_mm;
    p.stiffness_Nmm2.resize(count_);
    p.moment_Nmm.resize(count_);
    p.side_x.resize(side_count, count_);
    p.side_y.resize(side_count, count_);
    p.gap_mm.resize(side_count, count_);
    p.compliance_mm_per_N = wall_compliance_mm_per_N;
    p.load_N = load_N_;
    walls_.resize(count_);
    for (int i = 0; i < count_; ++i) {
        const double x = line_.spacing_mm * (count_ - 1 - i);
        stiffness_Nmm2_[i] = beam_.stiffness_Nmm2(x);
        set_stiffness(p, i);
        set_sides(p, i);
    }
    if (options_.access == Access::Axial) {
        // Moment alone passes between handle and orifice, so that part and the half piece below the
        // orifice are a rotational spring.
        const double x = line_.spacing_mm * (count_ - 1);
        const double flexibility = beam_.flexibility_per_Nmm(x, options_.handle_mm) +
                                   line_.spacing_mm / 2 / stiffness_Nmm2_[0];
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
    double bend_change = 0, largest_bend = 1e-9;
    for (int i = 0; i < count_; ++i) {
        st.from_tip_mm[i] = h * (count_ - 1 - i);
        st.point_P[i] = line_.point_P[i] + u[i].x() * line_.n1_P[i] + u[i].y() * line_.n2_P[i];
        st.centre_P[i] = guide_.place(line_.depth_mm[i]).point_P;
        st.moved_mm = std::max(st.moved_mm, u[i].norm());
        const double radius = beam_.radius_mm(st.from_tip_mm[i]);
        Vec2 bend(0, 0), moment(0, 0);
        if (i > 0 && i + 1 < count_) {
            bend = p.curvature_per_mm[i] + (u[i - 1] - 2 * u[i] + u[i + 1]) / (h * h);
            moment = stiffness_Nmm2_[i] * beam_.law().secant(bend.norm() * radius) * bend;
        } else if (i == 0 && p.end_spring_Nmm > 0) {
            moment = p.end_spring_Nmm * ((u[1] - u[0]) / h + p.end_turn);
            bend = moment / stiffness_Nmm2_[0];
        }
        st.curvature_per_mm[i] = bend.x() * line_.n1_P[i] + bend.y() * line_.n2_P[i];
        moment_Nmm_[i] = moment.x() * line_.n1_P[i] + moment.y() * line_.n2_P[i];
        st.strain[i] = bend.norm() * radius;
        const double share = i == 0 || i + 1 == count_ ? 0.5 : 1.0;
        st.bending_energy_Nmm += 0.5 * share * h * stiffness_Nmm2_[i] *
                                 beam_.law().energy(st.strain[i]) * bend.squaredNorm();
        largest_bend = std::max(largest_bend, bend.norm());
        if (!beam_.law().linear()) {
            bend_change = std::max(bend_change, (st.curvature_per_mm[i] - bend_per_mm_[i]).norm());
            bend_per_mm_[i] = st.curvature_per_mm[i];
        }
    }
    const bool worse = bend_change / largest_bend > bend_change_;
    least_tangent_ = worse ? 1 : least_tangent_ < 1 ? std::max(0.8 * least_tangent_, 0.3) : 1;
    bend_change_ = bend_change / largest_bend;
    change_ = bend_change_;
    walk_up(solution);
}

/// Axial force from the tip up [Johancsik1984]: what bends the device (kappa dM), what wedges it,
/// what rubs.
void Rod::walk_up(const RodSolution& solution) {
    RodState& st = state_;
    const std::vector<Vec3> tangent = tangents_of(st.point_P);
    st.contact_N.assign(count_, Vec3::Zero());
    st.compression_N.assign(count_, 0.0);
    st.torque_Nmm = 0;
    std::vector<Vec2> load(count_, Vec2::Zero());
    double force = 0, without_friction = 0, largest_load = 1e-9, largest_change = 0;
    for (int i = count_ - 1; i >= 0; --i) {
        if (i + 1 < count_) {
            const double bending = -0.5 * (st.curvature_per_mm[i] + st.curvature_per_mm[i + 1])
                                              .dot(moment_Nmm_[i + 1] - moment_Nmm_[i]);
            force += bending;
            without_friction += bending;
        }
        const auto z = solution.force_N.col(i);
        const Eigen::Array<double, side_count, 3>& normal = walls_[i].normal_P;
        const Vec3 press((normal.col(0) * z).sum(), (normal.col(1) * z).sum(),
                         (normal.col(2) * z).sum());
        const double wedge = press.dot(tangent[i]) - (walls_[i].slope * z).sum();
        const double size = press.norm();
        const double radius = beam_.radius_mm(st.from_tip_mm[i]);
        const double rim_mm_per_s = options_.speed_rpm / 60 * 2 * std::numbers::pi * radius;
        const double along = rim_mm_per_s > 0 ? options_.feed_mm_per_s /
                                                    std::hypot(options_.feed_mm_per_s, rim_mm_per_s)
                                              : 1;
        const double below = force;
        force += wedge + options_.friction * size * along;
        without_friction += wedge;
        st.torque_Nmm += options_.friction * size * radius;
        st.contact_N[i] = press;
        st.compression_N[i] = force;

        const Vec3 side = -0.5 * (below + force) * st.spacing_mm * st.curvature_per_mm[i];
        load[i] = Vec2(side.dot(line_.n1_P[i]), side.dot(line_.n2_P[i]));
        largest_load = std::max({largest_load, load[i].norm(), size});
        const Vec2 old = load_N_.empty() ? Vec2(0, 0) : load_N_[i];
        largest_change = std::max(largest_change, (load[i] - old).norm());
    }
    change_ = std::max(change_, largest_change / largest_load);
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
    for (int round = 0; round < options_.most_rounds; ++round) {
        if (round > 0) {
            set_share();
            line_ = line_through(guide_, moved_part(), line_.depth_mm, line_.n1_P[0]);
        }
        const RodProblem p = problem();
        solution = solve(p, round > 0 ? &solution : nullptr);
        // Forces of a round whose contacts were others can be a bad start.
        if (!solution.converged && round > 0) solution = solve(p);
        take(p, solution);
        state_.rounds = round + 1;
        state_.iterations += solution.iterations;
        state_.converged = solution.converged;
        if (!solution.converged || (round > 0 && settled())) return state_;
        // A device that lies loose may shift from round to round at the same energy.
        if (round >= usual_rounds && (!nearest.converged || state_.moved_mm < nearest.moved_mm)) {
            nearest = state_;
        }
    }
    return nearest.converged ? nearest : state_;
}

}  // namespace

RodState hold_rod(const Guide& guide, const Beam& beam, double tip_depth_mm,
                  const RodOptions& options) {
    return Rod(guide, beam, tip_depth_mm, options).run();
}

}  // namespace anfract
