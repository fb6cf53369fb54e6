#include "anfract/tooth/canal_system.h"

#include <algorithm>
#include <cctype>
#include <sstream>

#include "anfract/tooth/tooth_number.h"

namespace anfract {
namespace {

/// "MB" of "MB2".
std::string letters_of(std::string name) {
    while (!name.empty() && std::isdigit(static_cast<unsigned char>(name.back()))) name.pop_back();
    return name;
}

bool among(const std::string& text, std::initializer_list<const char*> list) {
    return std::any_of(list.begin(), list.end(), [&](const char* item) { return text == item; });
}

/// The root a canal of this name lies in, by the habits of naming; empty for the only root.
std::string usual_root(const std::string& canal, const std::optional<ToothNumber>& number) {
    const std::string letters = letters_of(canal);
    if (!number) return canal;
    if (number->molar() && number->upper()) {
        if (among(letters, {"MB", "ML", "MP", "M"})) return "MB";
        if (among(letters, {"DB", "D"})) return "DB";
        if (among(letters, {"P", "L"})) return "P";
        return canal;
    }
    if (number->molar()) {
        if (among(letters, {"M", "MB", "ML", "MM"})) return "M";
        if (among(letters, {"D", "DB", "DL", "DM"})) return "D";
        return canal;
    }
    if (number->upper() && number->premolar() && number->place == 4) {
        if (among(letters, {"P", "L"})) return "P";
        if (among(letters, {"B", "MB", "DB"})) return letters;
    }
    return "";
}

int rank_of(const std::string& label) {
    const char* const order[] = {"MB", "DB", "P", "M", "D", "B"};
    const std::string first = label.substr(0, label.find('/'));
    const auto found = std::find(std::begin(order), std::end(order), first);
    // B stands before P where there is no MB: in premolars.
    if (first == "B") return 1;
    return static_cast<int>(found - std::begin(order));
}

/// Puts the canals of `from` into `into`.
void merge(std::vector<Root>& roots, std::size_t into, std::size_t from) {
    Root& kept = roots[into];
    kept.canals.insert(kept.canals.end(), roots[from].canals.begin(), roots[from].canals.end());
    if (!roots[from].label.empty() && roots[from].label != kept.label) {
        kept.label += "/" + roots[from].label;
    }
    roots.erase(roots.begin() + static_cast<std::ptrdiff_t>(from));
}

std::size_t root_with(const std::vector<Root>& roots, const std::string& canal) {
    for (std::size_t i = 0; i < roots.size(); ++i) {
        const auto& names = roots[i].canals;
        if (std::find(names.begin(), names.end(), canal) != names.end()) return i;
    }
    return roots.size();
}

/// Canals that meet lie in one root.
void merge_by_meetings(const Tooth& tooth, std::vector<Root>& roots) {
    for (const Canal& canal : tooth.canals) {
        for (const auto& meeting : {canal.joins, canal.leaves}) {
            if (!meeting) continue;
            const std::size_t one = root_with(roots, canal.name);
            const std::size_t other = root_with(roots, meeting->canal);
            if (one == other || other == roots.size()) continue;
            merge(roots, std::min(one, other), std::max(one, other));
        }
    }
}

tl::unexpected<Error> bad_code(const std::string& what) {
    return fail(ErrorCode::BadInput, what, "", "write it as in 3 16 MB2-1 DB1 P1");
}

}  // namespace

std::vector<Root> roots_of(const Tooth& tooth) {
    std::optional<ToothNumber> number;
    if (auto read = tooth_number_from_fdi(tooth.fdi)) number = *read;
    std::vector<Root> roots;
    for (const Canal& canal : tooth.canals) {
        const std::string label = usual_root(canal.name, number);
        auto found = std::find_if(roots.begin(), roots.end(),
                                  [&](const Root& root) { return root.label == label; });
        if (found == roots.end()) found = roots.insert(roots.end(), Root{label, {}, {}});
        found->canals.push_back(canal.name);
    }
    std::stable_sort(roots.begin(), roots.end(), [](const Root& a, const Root& b) {
        return rank_of(a.label) < rank_of(b.label);
    });
    merge_by_meetings(tooth, roots);
    for (Root& root : roots) {
        std::vector<const Canal*> canals;
        for (const std::string& name : root.canals) canals.push_back(tooth.find(name));
        root.course = course_of(canals);
    }
    if (roots.size() == 1) roots.front().label.clear();
    return roots;
}

std::string CanalCode::text() const {
    std::string line = std::to_string(roots.size()) + " " + tooth;
    for (const RootCourse& root : roots) line += " " + root.label + to_string(root.course);
    return line;
}

CanalCode canal_code(const Tooth& tooth, ToothNotation notation) {
    CanalCode code;
    code.tooth = tooth.fdi;
    const auto number = tooth_number_from_fdi(tooth.fdi);
    if (number && notation == ToothNotation::Universal) code.tooth = number->universal();
    for (const Root& root : roots_of(tooth)) code.roots.push_back({root.label, root.course});
    return code;
}

Result<CanalCode> parse_canal_code(std::string_view text, ToothNotation notation) {
    std::istringstream words{std::string(text)};
    std::string count, tooth, word;
    if (!(words >> count >> tooth))
        return bad_code("the canal code lacks its root count and tooth");
    const auto number = notation == ToothNotation::Fdi ? tooth_number_from_fdi(tooth)
                                                       : tooth_number_from_universal(tooth);
    if (!number) return tl::unexpected(number.error());
    CanalCode code{tooth, {}};
    while (words >> word) {
        const std::size_t digits = word.find_first_of("0123456789-");
        if (digits == std::string::npos) return bad_code("root '" + word + "' has no course");
        auto course = parse_course(std::string_view(word).substr(digits));
        if (!course) return tl::unexpected(course.error());
        code.roots.push_back({word.substr(0, digits), *course});
    }
    if (code.roots.empty() || count != std::to_string(code.roots.size())) {
        return bad_code("the canal code says " + count + " roots but lists " +
                        std::to_string(code.roots.size()));
    }
    for (const CanalCode::RootCourse& root : code.roots) {
        if (root.label.empty() && code.roots.size() > 1) {
            return bad_code("one of several roots has no label");
        }
    }
    return code;
}

}  // namespace anfract
