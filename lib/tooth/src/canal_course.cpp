#include <algorithm>
#include <map>
#include <tuple>

#include "anfract/tooth/canal_system.h"

namespace anfract {
namespace {

// Two canals that part and meet again within this are one canal with an island in it.
constexpr double same_depth_mm = 0.5;
// Files may state a meeting from both sides, with depths along two canals.
constexpr double same_meeting_mm = 1.0;

const std::map<std::string, CanalCourse, std::less<>>& types() {
    // [Vertucci1984], from memory.
    static const std::map<std::string, CanalCourse, std::less<>> all{
        {"I", {1}},    {"II", {2, 1}},    {"III", {1, 2, 1}},    {"IV", {2}},
        {"V", {1, 2}}, {"VI", {2, 1, 2}}, {"VII", {1, 2, 1, 2}}, {"VIII", {3}}};
    return all;
}

CanalCourse collapsed(const CanalCourse& course) {
    CanalCourse result;
    for (int count : course) {
        if (result.empty() || result.back() != count) result.push_back(count);
    }
    return result;
}

/// The number of canals changes by `change` at `depth_mm`.
struct Meeting {
    double depth_mm;
    int change;
    std::string one, other;
};

void add_meeting(std::vector<Meeting>& meetings, const Canal& canal,
                 const std::optional<Branching>& branching, int change) {
    if (!branching) return;
    Meeting meeting{branching->depth_mm, change, std::min(canal.name, branching->canal),
                    std::max(canal.name, branching->canal)};
    const bool told = std::any_of(meetings.begin(), meetings.end(), [&](const Meeting& known) {
        return known.change == change && known.one == meeting.one && known.other == meeting.other &&
               std::abs(known.depth_mm - meeting.depth_mm) < same_meeting_mm;
    });
    if (!told) meetings.push_back(std::move(meeting));
}

}  // namespace

std::string to_string(const CanalCourse& course) {
    std::string text;
    for (int count : course) text += (text.empty() ? "" : "-") + std::to_string(count);
    return text;
}

Result<CanalCourse> parse_course(std::string_view text) {
    CanalCourse course;
    bool digit_next = true;
    for (char c : text) {
        const bool digit = c >= '1' && c <= '9';
        if (digit != digit_next || (!digit && c != '-')) {
            course.clear();
            break;
        }
        if (digit) course.push_back(c - '0');
        digit_next = !digit_next;
    }
    if (course.empty() || digit_next) {
        return fail(ErrorCode::BadInput, "'" + std::string(text) + "' is not the course of a canal",
                    "", "write counts from 1 to 9 joined by -, such as 2-1");
    }
    return collapsed(course);
}

CanalCourse course_of(const std::vector<const Canal*>& canals) {
    std::vector<Meeting> meetings;
    int count = static_cast<int>(canals.size());
    for (const Canal* canal : canals) {
        add_meeting(meetings, *canal, canal->joins, -1);
        const std::size_t before = meetings.size();
        add_meeting(meetings, *canal, canal->leaves, +1);
        // It has no orifice of its own, unless it first came to the other one.
        const bool came_first =
            canal->joins && canal->leaves && canal->joins->depth_mm < canal->leaves->depth_mm;
        if (meetings.size() > before && !came_first) --count;
    }
    std::sort(meetings.begin(), meetings.end(), [](const Meeting& a, const Meeting& b) {
        return std::tie(a.depth_mm, a.change) < std::tie(b.depth_mm, b.change);
    });
    CanalCourse course{std::max(1, count)};
    for (std::size_t i = 0; i < meetings.size();) {
        const double depth = meetings[i].depth_mm;
        for (; i < meetings.size() && meetings[i].depth_mm - depth < same_depth_mm; ++i) {
            count += meetings[i].change;
        }
        course.push_back(std::max(1, count));
    }
    return collapsed(course);
}

std::string vertucci_type(const CanalCourse& course) {
    for (const auto& [type, known] : types()) {
        if (known == course) return type;
    }
    return "non-Vertucci";
}

std::optional<CanalCourse> course_of_vertucci(std::string_view type) {
    const auto found = types().find(type);
    if (found == types().end()) return std::nullopt;
    return found->second;
}

}  // namespace anfract
