// The canals of one root of a drawn tooth.

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "random_tooth.h"
#include "tooth_kinds.h"

namespace anfract {

namespace {

/// Where a root stands and how it is shaped.
struct RootPlace {
    Vec2 orifice_mm{0, 0};
    Vec2 tilt_deg{0, 0};
    double half_apart_mm = 0.9;  ///< of two orifices, buccolingually
    RootDesign shape;            ///< for one canal
};

RootPlace place_of(const ToothDraw& draw, const std::string& label) {
    const double x = draw.anatomy->half_md_mm, y = draw.anatomy->half_bl_mm;
    RootPlace place;
    RootDesign& root = place.shape;
    if (!draw.molar()) {
        const double md = draw.premolar() ? 0.67 : 0.73, bl = draw.premolar() ? 0.79 : 0.87;
        root.half_md_start_mm = md * x;
        root.half_md_middle_mm = std::max(1.15, 0.76 * md * x);
        root.half_bl_start_mm = bl * y;
        root.half_bl_middle_mm = std::max(1.5, 0.76 * bl * y);
        root.tip_radius_mm = 0.9;
        place.half_apart_mm = draw.premolar() ? 1.05 : 0.7;
        return place;
    }
    // Orifices in shares of the crown, after the hand-made molars.
    if (label == "M") {
        place = {{0.39 * x, 0}, {13, 0}, 0.25 * y, {"", 1.75, 1.32, 2.9, 2.2, 0.9}};
    } else if (label == "D") {
        place = {{-0.37 * x, 0}, {-10, 0}, 0.2 * y, {"", 1.8, 1.45, 3.1, 2.2, 0.95}};
    } else if (label == "MB") {
        place = {{0.39 * x, 0.38 * y}, {12, 5}, 0.95, {"", 1.7, 1.3, 2.5, 2.0, 0.85}};
    } else if (label == "DB") {
        place = {{-0.34 * x, 0.36 * y}, {-13, 5}, 0.7, {"", 1.6, 1.25, 1.9, 1.5, 0.8}};
    } else {
        place = {{-0.04 * x, -0.51 * y}, {2, -20}, 0.7, {"", 2.4, 1.75, 1.9, 1.5, 0.95}};
    }
    root.above_floor_mm = 2.5;
    return place;
}

/// The angle of the main curve: 84 % of canals are curved, 65 % up to 27 degrees, 13 % to 35, 9 %
/// beyond [Schafer2002]; the greatest there, 75, is cut to 55, which the root shapes can follow.
double draw_angle_deg(Random& random) {
    const double p = random.uniform();
    if (p < 0.13) return random.uniform(0, 5);
    if (p < 0.78) return random.uniform(5, 27);
    if (p < 0.91) return random.uniform(27, 35);
    return random.uniform(35, 55);
}

std::vector<BendDesign> draw_bends(const RootAnatomy& anatomy, bool molar, Random& random) {
    BendDesign main;
    main.angle_deg = draw_angle_deg(random);
    main.at = random.uniform(0.45, 0.8);
    // Any side in a single root; in molars mostly toward the furcation.
    main.toward_deg =
        molar ? anatomy.bend_toward_deg + random.around(0, 45) : random.uniform(0, 360);
    // No sharper than a radius of 2.5 mm at its peak.
    const double least_mm = 1.875 * 2.5 * main.angle_deg * std::numbers::pi / 180;
    main.length_mm = std::max(least_mm, random.uniform(2.5, 6.5));
    std::vector<BendDesign> bends{main};
    const double p = random.uniform();
    if (p < 0.15 && main.at < 0.65) {  // an S
        bends.push_back({std::min(main.at + 0.28, 0.9), random.uniform(0.4, 0.9) * main.angle_deg,
                         main.toward_deg + 180 + random.around(0, 20), 3.5});
    } else if (p < 0.5) {  // a curve across the first, which no one view shows with it
        bends.push_back({random.uniform(0.35, 0.8), random.uniform(4, 18),
                         main.toward_deg + (random.uniform() < 0.5 ? 90 : 270), 4.5});
    }
    return bends;
}

std::vector<WidthDesign> widths_of(const CanalWidths& medians, const ToothDraw& draw,
                                   Random& random) {
    const double own = draw.wider * std::exp(random.around(0, 0.12));
    std::vector<WidthDesign> list =
        widths(medians.at_1, medians.at_2, medians.at_5, medians.orifice);
    for (WidthDesign& w : list) {
        w.short_mm *= own;
        w.long_mm *= own;
        if (draw.calcified) {  // they end up nearly round, and alike from end to end
            w.long_mm = std::min(w.long_mm, 1.3 * w.short_mm);
            w.short_mm = std::min(w.short_mm, 0.35);
            w.long_mm = std::min(w.long_mm, 0.42);
        }
        if (draw.open_apex) {
            const double open = std::max(0.0, 1 - w.from_foramen_mm / 5);
            w.short_mm = std::max(w.short_mm, 0.5 + 0.7 * open);
            w.long_mm = std::max(w.long_mm, 0.6 + 0.8 * open);
        }
    }
    return list;
}

class RootMaker {
  public:
    RootMaker(const ToothDraw& draw, const RootAnatomy& anatomy, Random& random, ToothDesign& tooth)
        : draw_(draw), anatomy_(anatomy), random_(random), tooth_(tooth) {
        place_ = place_of(draw, anatomy.label);
        const double tip_mm = draw.open_apex ? 1.35 : place_.shape.tip_radius_mm;
        place_.shape.tip_radius_mm = tip_mm;
        const double floor_z = tooth.chamber.centre_mm.z() + tooth.chamber.half_mm.z();
        course_mm_ = std::max(5.0, draw.length_mm + random.around(0, 0.4) - floor_z - tip_mm);
    }

    /// `system`: index of the type, 0 for I.
    void make(std::size_t system) {
        CanalDesign first = canal(system == 0 ? single_name() : anatomy_.first,
                                  system == 0 ? anatomy_.single : anatomy_.first_of_two);
        first.start_tilt_deg = place_.tilt_deg + Vec2(random_.around(0, 2), random_.around(0, 2));
        first.bends = draw_bends(anatomy_, draw_.molar(), random_);
        switch (system) {
            case 0:
                return one(first);
            case 1:
                return joining(first);
            case 2:
                return parting_and_joining(first, 1.5, 0.35 * course_mm_);
            case 4:
                return parting(first);
            case 5:
                return joining_and_parting(first);
            case 6:
                return parting_twice(first);
            default:
                return apart(first, system == 7);
        }
    }

  private:
    std::string single_name() const { return anatomy_.label.empty() ? "I" : anatomy_.label; }

    CanalDesign canal(const std::string& name, const CanalWidths& medians) {
        CanalDesign c;
        c.name = name;
        c.orifice_mm = place_.orifice_mm + Vec2(random_.around(0, 0.12), random_.around(0, 0.12));
        c.course_mm = course_mm_;
        c.widths = widths_of(medians, draw_, random_);
        c.long_axis_deg = (anatomy_.label == "P" ? 0 : 90) + random_.around(0, 8);
        c.foramen_offset_mm =
            std::clamp(anatomy_.foramen_offset_mm * random_.around(1, 0.35), 0.1, 1.3);
        c.foramen_toward_deg = random_.uniform(0, 360);
        return c;
    }

    void add(const CanalDesign& c, RootDesign shape) {
        shape.canal = c.name;
        shape.above_floor_mm = place_.shape.above_floor_mm;
        tooth_.canals.push_back(c);
        tooth_.roots.push_back(shape);
    }

    /// Half of a root that holds two canals; the other half melts into it.
    RootDesign half_shape() const {
        RootDesign shape = place_.shape;
        shape.half_bl_start_mm *= 0.75;
        shape.half_bl_middle_mm *= 0.78;
        return shape;
    }

    void one(const CanalDesign& c) { add(c, place_.shape); }

    void joining(CanalDesign& first) {
        CanalDesign second = canal(anatomy_.second, anatomy_.second_of_two);
        spread(first, second);
        second.joins = first.name;
        second.join_from_foramen_mm = random_.uniform(1.5, 0.45 * course_mm_);
        add(first, half_shape());
        RootDesign shape = half_shape();
        shape.until = 0.85;
        add(second, shape);
    }

    void parting(CanalDesign& first) {
        CanalDesign second = canal(anatomy_.second, anatomy_.second_of_two);
        divide(first, second, random_.uniform(0.35, 0.6));
        add(first, half_shape());
        add(second, half_shape());
    }

    /// Makes `second` a way that leaves the first at a share of its course: both turn away.
    void divide(CanalDesign& first, CanalDesign& second, double share) {
        second.orifice_mm = first.orifice_mm;
        second.start_tilt_deg = first.start_tilt_deg;
        second.long_axis_deg = first.long_axis_deg;
        second.bends = first.bends;
        second.leaves = first.name;
        second.leaves_at = share;
        const double angle = random_.uniform(11, 18);
        const double at = second.leaves_at + 0.5 * 3.6 / course_mm_ + 0.02;
        for (CanalDesign* c : {&first, &second}) {
            const double toward = c == &first ? 90 : 270;
            c->bends.push_back({at, angle, toward, 3.6});
            c->bends.push_back({0.9, 0.6 * angle, toward + 180, 2.6});
        }
    }

    /// A further way below where two canals have become one.
    CanalDesign third_canal() {
        return canal(anatomy_.label == "MB" ? "MB3" : anatomy_.second + "2",
                     anatomy_.second_of_two);
    }

    void joining_and_parting(CanalDesign& first) {
        CanalDesign second = canal(anatomy_.second, anatomy_.second_of_two);
        spread(first, second);
        second.joins = first.name;
        second.join_from_foramen_mm = random_.uniform(0.6, 0.66) * course_mm_;
        CanalDesign third = third_canal();
        divide(first, third, random_.uniform(0.68, 0.74));
        add(first, half_shape());
        RootDesign shape = half_shape();
        shape.until = 0.85;
        add(second, shape);
        add(third, half_shape());
    }

    void parting_twice(CanalDesign& first) {
        parting_and_joining(first, 0.55 * course_mm_, 0.6 * course_mm_);
        CanalDesign third = third_canal();
        divide(tooth_.canals[tooth_.canals.size() - 2], third, random_.uniform(0.72, 0.78));
        add(third, half_shape());
    }

    void parting_and_joining(CanalDesign& first, double least_rest_mm, double most_rest_mm) {
        CanalDesign second = canal(anatomy_.second, anatomy_.second_of_two);
        second.leaves = second.joins = first.name;
        second.leaves_at = random_.uniform(0.15, 0.3);
        second.join_from_foramen_mm = random_.uniform(least_rest_mm, most_rest_mm);
        second.part_by_mm = {0, -random_.uniform(1.0, 1.5)};
        // The first sways the other way.
        first.orifice_mm.y() += 0.2;
        add(first, place_.shape);
        RootDesign shape = half_shape();
        shape.until = 0.85;
        add(second, shape);
    }

    void apart(CanalDesign& first, bool third) {
        CanalDesign second = canal(anatomy_.second, anatomy_.second_of_two);
        second.start_tilt_deg = first.start_tilt_deg;
        second.bends = first.bends;
        for (BendDesign& bend : second.bends) {
            bend.angle_deg *= random_.around(1, 0.12);
            bend.at += random_.around(0, 0.03);
        }
        spread(first, second);
        // Two roots of their own in most upper first premolars.
        const bool two_roots = draw_.upper && draw_.place == 4 && random_.uniform() < 0.7;
        sway(first, 90, two_roots);
        sway(second, 270, two_roots);
        RootDesign shape = half_shape();
        if (two_roots) {
            shape.half_bl_start_mm *= 0.75;
            shape.half_bl_middle_mm *= 0.75;
        }
        add(first, shape);
        add(second, shape);
        if (!third) return;
        CanalDesign middle = canal(draw_.molar() ? "MM" : "B2", anatomy_.second_of_two);
        middle.orifice_mm = 0.5 * (first.orifice_mm + second.orifice_mm);
        middle.start_tilt_deg = place_.tilt_deg;
        middle.bends = second.bends;
        middle.bends.resize(middle.bends.size() - 1);
        add(middle, shape);
    }

    /// Moves the two orifices to their places beside one another.
    void spread(CanalDesign& first, CanalDesign& second) {
        const double apart = place_.half_apart_mm * random_.around(1, 0.2);
        if (anatomy_.label == "MB") {
            second.orifice_mm = first.orifice_mm + Vec2(random_.around(-0.1, 0.3), -2 * apart);
            return;
        }
        first.orifice_mm.y() += apart;
        second.orifice_mm.y() -= apart;
    }

    /// Away from the other canal first and back again, or on into a root of its own.
    void sway(CanalDesign& c, double toward_deg, bool own_root) {
        const double out = own_root ? random_.uniform(7, 12) : random_.uniform(2, 5);
        c.start_tilt_deg.y() += toward_deg == 90 ? out : -out;
        c.bends.push_back({0.45, out + random_.uniform(1, 4), toward_deg + 180, 5});
    }

    const ToothDraw& draw_;
    const RootAnatomy& anatomy_;
    Random& random_;
    ToothDesign& tooth_;
    RootPlace place_;
    double course_mm_ = 12;
};

/// An index into the weights. In the order in which VI stands beside II and VII beside V: so teeth
/// of all other types are those of a draw that does not tell these.
std::size_t draw_system(const SystemWeights& weights, Random& random) {
    constexpr std::array<std::size_t, 8> order{0, 1, 5, 2, 3, 4, 6, 7};
    double total = 0;
    for (const double w : weights) total += w;
    double left = random.uniform() * total;
    for (const std::size_t i : order) {
        left -= weights[i];
        if (left < 0) return i;
    }
    return 0;
}

}  // namespace

void add_root(const ToothDraw& draw, const RootAnatomy& anatomy, Random& random,
              ToothDesign& tooth) {
    // A root that is still open holds one wide canal.
    const std::size_t system = draw.open_apex ? 0 : draw_system(anatomy.systems, random);
    RootMaker(draw, anatomy, random, tooth).make(system);
    // Between two canals that lie apart for a while; how often and how thick, common practice, no
    // source. (Near the apex sections show it in most such roots.)
    if ((system == 1 || system == 3) && !draw.calcified && random.uniform() < 0.4) {
        const double from = random.uniform(0.2, 0.45);
        tooth.isthmuses.push_back({anatomy.first, anatomy.second, random.uniform(0.06, 0.2), from,
                                   from + random.uniform(0.1, 0.3)});
    }
}

}  // namespace anfract
