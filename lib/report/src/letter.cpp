#include "anfract/report/letter.h"

#include <algorithm>

#include "html_sheets.h"
#include "letter_head.h"
#include "letter_lists.h"
#include "letter_tables.h"
#include "paper.h"
#include "ruler_drawing.h"
#include "section_view.h"
#include "tooth_words.h"

namespace anfract {
namespace {

const char* const short_cautions =
    "Planning aid, not a cleared medical device. Depths are estimates: verify the working length "
    "with an apex "
    "locator and a radiograph. Irrigant forced past the foramen, instrument fracture, perforation "
    "and heat can "
    "do harm. Local codes apply and the licensed clinician decides.";

std::string joined(const std::vector<std::string>& parts, const std::string& between) {
    std::string text;
    for (const std::string& part : parts) text += (text.empty() ? "" : between) + part;
    return text;
}

/// How much of each list stands in the letter itself, the first of them first; the rest goes with
/// the enclosures.
struct Share {
    std::size_t findings = 1000;
    std::size_t warnings = 5;
    std::size_t requests = 1000;
};

/// Fills sheets with a plan; made anew for each pass.
class LetterWriter {
  public:
    LetterWriter(const Plan& plan, const Letter& letter, const Brick* scan, Sheets& paper,
                 const Share& share = {})
        : plan_(plan), letter_(letter), scan_(scan), paper_(paper), share_(share) {}

    void write() {
        write_letter();
        paper_.new_page();
        ruler();
        sections();
        more_findings();
        warnings(false);
        more_requests();
        for (const CanalPlan& canal : plan_.canals) canal_plan(canal);
        basis();
    }

    /// The part that is the letter, without its enclosures.
    void write_letter() {
        head();
        opening();
        findings();
        summary();
        warnings(true);
        requests();
        moved();
        close();
    }

  private:
    void head() {
        write_letter_head(paper_, letter_, "en", true);
        paper_.heading("Working plan for " + tooth_title(plan_.tooth), 1);
    }

    void opening() {
        if (!letter_.salutation.empty()) paper_.paragraph(escaped(letter_.salutation));
        const std::size_t count = plan_.canals.size();
        std::vector<std::string> names;
        for (const CanalPlan& canal : plan_.canals) names.push_back(canal.canal);
        const char* const numbers[] = {"No", "One", "Two", "Three", "Four", "Five", "Six"};
        std::string text = count < 7 ? numbers[count] : std::to_string(count);
        text += count == 1 ? " canal was found: " : " canals were found: ";
        text += joined(names, ", ") +
                ". Depths are counted in millimetres from the reference point on the "
                "crown, the number that the stop on an instrument shows; set that point after any "
                "reduction of "
                "the occlusion. The figure after ± is one standard deviation.";
        paper_.paragraph(escaped(text + " " + source()));
    }

    std::string source() const {
        if (!plan_.tooth.scan)
            return "The tooth's model was made by hand; no scan is recorded with it.";
        const ScanFacts& scan = *plan_.tooth.scan;
        std::string text = "The measurements come from a cone-beam scan with voxels of " +
                           fixed(scan.voxel_mm.x(), 3) + " × " + fixed(scan.voxel_mm.y(), 3) +
                           " × " + fixed(scan.voxel_mm.z(), 3) + " mm";
        if (scan.sharpness_fwhm_mm > 0) {
            text +=
                " and a sharpness of " + fixed(scan.sharpness_fwhm_mm, 2) +
                " mm; canals narrower than that are measured by their grey-value deficit, not seen";
        }
        return text + ".";
    }

    void findings() {
        paper_.heading("Findings", 2);
        paper_.table(findings_table(plan_));
        list(finding_lines(plan_.tooth), 0, share_.findings);
    }

    void more_findings() {
        const auto lines = finding_lines(plan_.tooth);
        if (lines.size() <= share_.findings) return;
        paper_.heading("More findings", 2);
        list(lines, share_.findings, lines.size());
    }

    /// Those from `begin` to before `end`, as far as there are any.
    void list(const std::vector<std::string>& lines, std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < std::min(end, lines.size()); ++i)
            paper_.list_item("–", escaped(lines[i]));
    }

    void summary() {
        paper_.heading("Suggestion", 2);
        paper_.table(summary_table(plan_));
    }

    /// The letter itself names the worst; the rest goes with the enclosures.
    void warnings(bool worst) {
        const std::vector<Caution> all = cautions_of(plan_);
        const auto begin = all.begin();
        const auto cut = begin + std::ptrdiff_t(std::min(share_.warnings, all.size()));
        const std::vector<Caution> part(worst ? begin : cut, worst ? cut : all.end());
        if (part.empty()) return;
        paper_.heading(worst ? "Take note" : "More to take note of", 2);
        for (const Caution& warning : part) {
            std::string text =
                warning.places.empty() ? "" : "<b>" + escaped(warning.places) + "</b>  ";
            text += escaped(warning.text);
            if (!warning.reason.empty()) {
                text += " <span foreground=\"#5b6570\">" + escaped(warning.reason) + "</span>";
            }
            paper_.list_item("", text, {.size_pt = 8.6}, warning.severity);
        }
    }

    void requests() {
        if (letter_.requests.empty()) return;
        paper_.heading("What we ask of you", 2);
        list(letter_.requests, 0, share_.requests);
    }

    void more_requests() {
        if (letter_.requests.size() <= share_.requests) return;
        paper_.heading("What else we ask of you", 2);
        list(letter_.requests, share_.requests, letter_.requests.size());
    }

    /// Says what else there is to read, so that nobody takes the letter for the whole.
    void moved() {
        std::vector<std::string> parts;
        const auto add = [&](std::size_t all, std::size_t here, const std::string& what) {
            if (all <= here) return;
            const std::size_t rest = all - here;
            parts.push_back(std::to_string(rest) + " " + what + (rest == 1 ? "" : "s"));
        };
        add(finding_lines(plan_.tooth).size(), share_.findings, "finding");
        add(cautions_of(plan_).size(), share_.warnings, "warning");
        add(letter_.requests.size(), share_.requests, "request");
        if (parts.empty()) return;
        paper_.paragraph("<b>More is said in the enclosure:</b> " + joined(parts, ", ") + ".");
    }

    void close() {
        if (letter_.author.empty()) return;
        paper_.space(4);
        paper_.need(52);
        paper_.paragraph(escaped(letter_.closing), {}, 20);
        paper_.paragraph(escaped(letter_.author), {}, 2);
        paper_.paragraph(
            "Enclosed: depth ruler, sections, order of instruments, what the plan rests on.",
            {.size_pt = 7.6, .colour = paper::quiet}, 4);
    }

    /// As many lanes to a page as fit, so that no lane is cut.
    void ruler() {
        std::vector<RulerLane> lanes = ruler_lanes(plan_);
        bool first = true;
        while (!lanes.empty()) {
            const double heading_room = first ? 30 : 0, caption_room = 52;
            std::size_t count = lanes.size();
            const RulerDrawing all(lanes, paper_.width_pt());
            // The first begins on a page of its own anyway.
            const bool fits = all.height_pt() + caption_room <= paper_.room_pt();
            if (!first && !fits) paper_.new_page();
            const double room = paper_.room_pt() - heading_room - caption_room;
            while (count > 1 && all.height_to_pt(count - 1) > room) --count;
            const RulerDrawing drawing(
                std::vector<RulerLane>(lanes.begin(), lanes.begin() + std::ptrdiff_t(count)),
                paper_.width_pt());
            if (first) paper_.heading("Depth ruler", 2);
            paper_.figure(
                drawing.height_pt(), escaped(drawing.caption()),
                [&](cairo_t* cr, double x, double y) { drawing.draw(cr, x, y); },
                "Depth ruler: each canal along millimetres from the reference point, with "
                "the instruments below it. The numbers stand in the tables.");
            lanes.erase(lanes.begin(), lanes.begin() + std::ptrdiff_t(count));
            first = false;
        }
    }

    void sections() {
        const auto frames = view_frames(plan_.tooth);
        const SectionView views[2] = {SectionView(plan_.tooth, frames[0], scan_),
                                      SectionView(plan_.tooth, frames[1], scan_)};
        constexpr double gap = 14, names = 8.5 * name_rows, title = 12, tallest = 200,
                         words_width = 128;
        double scale = (paper_.width_pt() - words_width - 2 * gap) /
                       (views[0].width_mm() + views[1].width_mm());
        const double height_mm = std::max(views[0].height_mm(), views[1].height_mm());
        scale = std::min(scale, tallest / height_mm);
        const double height = height_mm * scale + title + names;
        const std::string words =
            std::string(scan_
                            ? "From the scan, cut along a curved sheet through the centrelines of "
                              "all canals, so "
                              "that each is seen in full; between canals the sheet passes smoothly."
                            : "Drawn from the tooth's model, not from the scan: the outline and "
                              "the canals at "
                              "their measured width, seen through.") +
            "\n\nLines are the centrelines; a dot lies on each at every 5 mm of depth. Crown up.";
        paper_.need(height + 34);
        paper_.heading("Two sections", 2);
        paper_.figure(
            height, "",
            [&](cairo_t* cr, double x, double y) {
                for (int i = 0; i < 2; ++i) {
                    Text(cr, frames[std::size_t(i)].title, {.size_pt = 8}).draw(x, y - 1);
                    views[i].draw(cr, x, y + title, scale);
                    // The picture may be narrower than the words over it.
                    x += std::max(views[i].width_mm() * scale, 132.0) + gap;
                }
                Text(cr, words, {.size_pt = 7.6, .colour = paper::quiet}, words_width)
                    .draw(x, y + title);
            },
            "Two lengthwise sections of the tooth with the centrelines of its canals.");
    }

    void canal_plan(const CanalPlan& canal) {
        const Table order = order_table(plan_, canal);
        paper_.need(92 + (canal.order.empty() ? 0 : paper_.table_height_pt(order, 7.8)));
        const auto& join = canal.ends_at_join;
        paper_.heading("Canal " + canal.canal + ", " +
                           (join ? fixed(join->depth_mm, 1) + " mm to the join with " + join->canal
                                 : fixed(canal.depth_to_foramen_mm, 1) + " mm"),
                       2);
        std::string text = canal.working_depth_why + " " + canal.smallest.sentence;
        if (canal.final_size) text += " " + canal.final_size->why;
        paper_.paragraph(escaped(text), {.size_pt = 8.6});
        if (canal.measured) {
            for (const std::string& change : canal.measured->changes)
                paper_.list_item("–", escaped(change), {.size_pt = 8.6});
        }
        if (!canal.order.empty()) paper_.table(order, 7.8);
        const Table removal = removal_table(plan_, canal);
        if (!removal.rows.empty()) paper_.table(removal, 7.8);
        consequences(canal);
        if (canal.recapitulation) {
            paper_.paragraph(
                "<b>Before filling:</b> " +
                    escaped(device_name(plan_.tray, canal.recapitulation->device) + ", stop at " +
                            fixed(canal.recapitulation->stop_setting_mm, 2) + " mm. " +
                            canal.recapitulation->why),
                {.size_pt = 8.6});
        }
        const Table passive = passive_table(plan_, canal);
        if (!passive.rows.empty()) paper_.table(passive, 7.8);
        for (const std::string& note : canal.notes)
            paper_.list_item("–", escaped(note), {.size_pt = 8.6});
    }

    /// What the order takes away, how likely it fails, and what else could be done.
    void consequences(const CanalPlan& canal) {
        std::vector<std::string> lines;
        if (canal.removal) lines = canal.removal->sentences;
        if (canal.risks) {
            lines.push_back(canal.risks->sentence);
            for (const PlanRisk& risk : canal.risks->risks) {
                if (risk.risk.probability >= 0.01) lines.push_back(risk.sentence);
            }
        }
        for (const PlanAlternative& other : canal.alternatives) lines.push_back(other.sentence);
        for (const std::string& line : lines)
            paper_.list_item("–", escaped(line), {.size_pt = 8.6});
    }

    /// Limits and cautions as running text: they must be there, and are no table to study.
    void basis() {
        const TextStyle small{.size_pt = 7.6, .line_spacing = 1.12};
        std::string text;
        for (const PlanBasis& basis : plan_.basis) {
            if (basis.value.empty())
                continue;  // where the tray's figures come from stands in the plan
            text += (text.empty() ? "" : "; ") + ("<b>" + escaped(basis.what) + "</b>");
            text += ": " + escaped(basis.value) + " (" + escaped(basis.source) + ")";
        }
        if (!text.empty()) {
            paper_.heading("What the plan rests on", 2);
            paper_.paragraph(text + ".", small);
        }
        paper_.heading("Cautions", 2);
        paper_.paragraph(escaped(joined(plan_.cautions, " ")), {.size_pt = 8.2});
    }

    const Plan& plan_;
    const Letter& letter_;
    const Brick* scan_;
    Sheets& paper_;
    Share share_;
};

SheetSettings settings_of(const Plan& plan, const Letter& letter) {
    SheetSettings settings;
    settings.title = "Working plan for " + tooth_title(plan.tooth);
    settings.subject =
        "Root canal working plan" + std::string(plan.invented ? ", invented data" : "");
    settings.author = letter.author;
    settings.foot = short_cautions;
    settings.logo_png = letter.logo_png;
    if (plan.invented) settings.mark = "Invented data";
    return settings;
}

}  // namespace

Brick brick_round(const Volume& scan, const Tooth& tooth) {
    Vec3 low = tooth.reference_P, high = tooth.reference_P;
    for (const Canal& canal : tooth.canals) {
        for (const CanalSample& sample : canal.samples) {
            low = low.cwiseMin(sample.point_P);
            high = high.cwiseMax(sample.point_P);
        }
    }
    constexpr double room_mm = 9;
    return crop(scan, (low + high) / 2, (high - low) / 2 + Vec3::Constant(room_mm));
}

namespace {

/// The largest share with which the letter itself fits one page, as far as cutting lists does it:
/// findings go first, then requests but one, then warnings but three.
Share share_of_one_page(const Plan& plan, const Letter& letter, const SheetSettings& settings) {
    Share share;
    const auto pages = [&] {
        Paper trial(settings);
        LetterWriter(plan, letter, nullptr, trial, share).write_letter();
        trial.finish();
        return trial.page();
    };
    if (pages() <= 1) return share;
    share.findings = finding_lines(plan.tooth).size();
    share.requests = letter.requests.size();
    const auto cut = [&](std::size_t& count, std::size_t least) {
        while (count > least) {
            --count;
            if (pages() <= 1) return true;
        }
        return false;
    };
    (void)(cut(share.findings, 0) || cut(share.requests, 1) || cut(share.warnings, 3));
    return share;
}

Result<void> check(const Plan& plan) {
    if (!ruler_lanes(plan).empty()) return {};
    return fail(ErrorCode::BadInput, "the plan has no canal to write about", "plan",
                "make it from a tooth with at least one canal");
}

}  // namespace

Result<std::string> letter_pdf(const Plan& plan, const Letter& letter, const Brick* scan) {
    if (auto good = check(plan); !good) return tl::unexpected(good.error());
    const SheetSettings settings = settings_of(plan, letter);
    const Share share = share_of_one_page(plan, letter, settings);
    return paper_of(
        settings, [&](Sheets& sheets) { LetterWriter(plan, letter, scan, sheets, share).write(); });
}

Result<std::string> letter_html(const Plan& plan, const Letter& letter, const Brick* scan) {
    if (auto good = check(plan); !good) return tl::unexpected(good.error());
    HtmlSheets sheets(settings_of(plan, letter));
    LetterWriter(plan, letter, scan, sheets).write();
    return sheets.finish();
}

}  // namespace anfract
