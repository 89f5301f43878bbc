#include "scenarios/report/report_html.hpp"

#include <stdexcept>

#include <fmt/format.h>

namespace stoverturn {
namespace {

using nlohmann::json;

/// JSON that ends no script element.
std::string json_text(const json& value) {
  const std::string dumped = value.dump(-1, ' ', false, json::error_handler_t::replace);
  std::string text;
  for (const char c : dumped) text += c == '<' ? "\\u003c" : std::string(1, c);
  return text;
}

void must(bool alike, std::string_view what) {
  if (!alike)
    throw std::invalid_argument(fmt::format("report: {} differ between the systems of units", what));
}

/// An element in both systems of units: once where they are the same.
std::string both(std::string_view tag, const std::string& si, const std::string& us) {
  if (si == us) return fmt::format("<{0}>{1}</{0}>", tag, si);
  return fmt::format("<{0} class=\"si\">{1}</{0}><{0} class=\"us\">{2}</{0}>", tag, si, us);
}

std::string paragraphs(const std::vector<std::string>& si, const std::vector<std::string>& us) {
  must(si.size() == us.size(), "paragraphs");
  std::string html;
  for (std::size_t i = 0; i < si.size(); ++i) html += both("p", escaped(si[i]), escaped(us[i])) + "\n";
  return html;
}

/// "V6 (2013-06-18)" with the date on a line of its own.
std::string head_html(const std::string& head) {
  const std::size_t when = head.rfind(" (");
  if (when == std::string::npos || head.back() != ')') return escaped(head);
  return fmt::format("{} <span class=\"when\">{}</span>", escaped(head.substr(0, when)),
                     escaped(head.substr(when + 1)));
}

std::string table_html(const ReportTable& table) {
  std::string html = fmt::format("<table><caption>{}</caption><thead><tr>", escaped(table.caption));
  for (const std::string& head : table.heads) html += "<th scope=\"col\">" + head_html(head) + "</th>";
  html += "</tr></thead><tbody>\n";
  for (const std::vector<std::string>& row : table.rows) {
    html += "<tr>";
    for (std::size_t i = 0; i < row.size(); ++i) {
      html += i == 0 ? fmt::format("<th scope=\"row\">{}</th>", escaped(row[i]))
                     : fmt::format("<td>{}</td>", escaped(row[i]));
    }
    html += "</tr>\n";
  }
  return html + "</tbody></table>";
}

std::string table_in_both(const ReportTable& si, const ReportTable& us) {
  if (si.rows.empty() && us.rows.empty()) return "";
  // a table may scroll sideways, so that it can be reached and named by keyboard
  const auto held = [](const ReportTable& t, std::string_view classes) {
    return fmt::format("<div class=\"{}\" tabindex=\"0\" role=\"region\" aria-label=\"{}\">{}</div>\n",
                       classes, escaped(t.caption), table_html(t));
  };
  const std::string one = table_html(si), other = table_html(us);
  return one == other ? held(si, "table") : held(si, "table si") + held(us, "table us");
}

class PageWriter {
 public:
  explicit PageWriter(const std::vector<ReportInBoth>& reports) : reports_(reports) {}

  std::string body() {
    std::string html;
    for (std::size_t i = 0; i < reports_.size(); ++i) html += chapter(i);
    return html;
  }

  std::string contents() const {
    std::string html = "<nav aria-label=\"Contents\"><ul>\n";
    for (std::size_t i = 0; i < reports_.size(); ++i) {
      if (i > 0) html += "</ul>\n<ul>\n";
      if (reports_.size() > 1) html += link(fmt::format("chapter-{}", i + 1), escaped(reports_[i].si.title));
      const std::vector<ReportSection>&si = reports_[i].si.sections, &us = reports_[i].us.sections;
      must(si.size() == us.size(), "sections");
      for (std::size_t s = 0; s < si.size(); ++s) {
        html += link(anchor(i, si[s].name), both("span", escaped(si[s].heading), escaped(us[s].heading)));
      }
      if (has_handout(i)) html += link(anchor(i, "handout"), "One page to take home");
    }
    return html + "</ul></nav>\n";
  }

 private:
  static std::string link(const std::string& to, const std::string& words_html) {
    return fmt::format("<li><a href=\"#{}\">{}</a></li>\n", escaped(to), words_html);
  }
  static std::string anchor(std::size_t chapter, const std::string& name) {
    return fmt::format("c{}-{}", chapter + 1, name);
  }
  bool has_handout(std::size_t i) const {
    const Handout& h = reports_[i].si.handout;
    return !h.charts.empty() || !h.table.rows.empty();
  }

  std::string chapter(std::size_t i) {
    const Report &si = reports_[i].si, &us = reports_[i].us;
    must(si.sections.size() == us.sections.size(), "sections");
    std::string html = fmt::format("<article id=\"chapter-{}\">\n", i + 1);
    if (reports_.size() > 1)
      html += fmt::format("<h2>{}</h2><p class=\"kind\">{}</p>\n", escaped(si.title), escaped(si.kind));
    if (!si.says.empty())
      html +=
          "<section class=\"short\" aria-label=\"In short\">" + paragraphs(si.says, us.says) + "</section>\n";
    html += cautions(si, us);
    html += paragraphs(si.about, us.about);
    for (std::size_t s = 0; s < si.sections.size(); ++s) html += section(i, si.sections[s], us.sections[s]);
    if (has_handout(i)) html += handout(i);
    return html + cite(si) + inputs(si) + "</article>\n";
  }

  static std::string cautions(const Report& si, const Report& us) {
    if (si.cautions.empty()) return "";
    return "<section class=\"cautions\" aria-label=\"Cautions\"><h3>Cautions</h3>" +
           paragraphs(si.cautions, us.cautions) + "</section>\n";
  }

  std::string section(std::size_t chapter, const ReportSection& si, const ReportSection& us) {
    must(si.name == us.name && si.charts.size() == us.charts.size() && si.tables.size() == us.tables.size(),
         "section " + si.name);
    const std::string heading = "<h2>" + both("span", escaped(si.heading), escaped(us.heading)) + "</h2>";
    std::string html = fmt::format("<section id=\"{}\">\n", escaped(anchor(chapter, si.name)));
    html += si.folded ? "<details><summary>" + heading + "</summary>\n" : heading + "\n";
    html += paragraphs(si.words, us.words);
    for (std::size_t c = 0; c < si.charts.size(); ++c) html += chart(chapter, si.charts[c], us.charts[c]);
    for (std::size_t t = 0; t < si.tables.size(); ++t) html += table_in_both(si.tables[t], us.tables[t]);
    return html + (si.folded ? "</details>" : "") + "</section>\n";
  }

  std::string chart(std::size_t chapter, const Chart& si, const Chart& us) const {
    const std::string id = escaped(anchor(chapter, si.name));
    return fmt::format(
        "<figure id=\"{}\" data-name=\"{}\">{}<div class=\"chart\"></div>\n<figcaption>{}</figcaption>\n"
        "<div class=\"save\">Save <button type=\"button\" data-save=\"svg\" aria-label=\"Save {} as "
        "SVG\">SVG</button>"
        "<button type=\"button\" data-save=\"png\" aria-label=\"Save {} as PNG\">PNG</button>"
        "<button type=\"button\" data-save=\"csv\" aria-label=\"Save the data of {} as "
        "CSV\">CSV</button></div>\n"
        "<script type=\"application/json\">{}</script></figure>\n",
        id, escaped(si.name), both("h3", escaped(si.title), escaped(us.title)),
        both("p", escaped(si.says), escaped(us.says)), escaped(si.title), escaped(si.title),
        escaped(si.title), json_text(chart_json(si, us)));
  }

  std::string handout(std::size_t i) const {
    const Report &si = reports_[i].si, &us = reports_[i].us;
    std::string html = fmt::format(
        "<section class=\"handout\" id=\"{}\"><h2>One page to take home: {}</h2>\n"
        "<p class=\"bar\"><button type=\"button\" data-print=\"handout\">Print this page "
        "alone</button></p>\n",
        anchor(i, "handout"), escaped(si.title));
    html += paragraphs(si.says, us.says) + "<div class=\"charts\">";
    for (const std::string& name : si.handout.charts) {
      const Chart& c = chart_of(si, name);
      // small charts side by side would not be read in a third of the width
      const bool wide = !c.facet.empty() && c.small_spec.is_null();
      html += fmt::format(
          "<figure data-of=\"{}\" data-name=\"{}-small\"{}><h3>{}</h3><div class=\"chart\" "
          "data-width=\"{}\"></div></figure>\n",
          escaped(anchor(i, name)), escaped(name), wide ? " class=\"wide\"" : "", escaped(c.title),
          wide ? 900 : 320);
    }
    html += "</div>\n" + table_in_both(si.handout.table, us.handout.table) +
            paragraphs(si.handout.words, us.handout.words);
    return html + "<div class=\"fine\">" + paragraphs(si.cautions, us.cautions) +
           fmt::format("<p class=\"program\">{}</p></div></section>\n", escaped(si.program));
  }

  static const Chart& chart_of(const Report& report, std::string_view name) {
    for (const ReportSection& s : report.sections) {
      for (const Chart& c : s.charts) {
        if (c.name == name) return c;
      }
    }
    throw std::invalid_argument(fmt::format("report: the handout names no chart of the page: {}", name));
  }

  static std::string cite(const Report& r) {
    return fmt::format(
        "<details><summary>How to cite</summary><p>{}. {}. Computed with {}; inputs and parameters below, "
        "each with its SHA-256. "
        "The file of results runs again to the same numbers: stoverturn run FILE.h5 for runs, stoverturn fit "
        "FILE.h5 for fits.</p></details>\n",
        escaped(r.title), escaped(r.kind), escaped(r.program));
  }

  static std::string inputs(const Report& r) {
    if (r.texts.empty() && r.checksums.empty()) return "";
    std::string html =
        "<details><summary>Inputs, parameters with their sources, versions, checksums</summary>\n";
    for (const KeptText& text : r.texts) {
      html += fmt::format("<details><summary>{}</summary><pre tabindex=\"0\">{}</pre></details>\n",
                          escaped(text.name), escaped(text.text));
    }
    ReportTable sums{"SHA-256", {"input", "SHA-256"}, {}};
    for (const auto& [name, sum] : r.checksums) sums.rows.push_back({name, sum});
    if (!sums.rows.empty()) html += table_in_both(sums, sums);
    return html + "</details>\n";
  }

  const std::vector<ReportInBoth>& reports_;
};

}  // namespace

std::string escaped(std::string_view text) {
  std::string html;
  for (const char c : text) {
    switch (c) {
      case '&':
        html += "&amp;";
        break;
      case '<':
        html += "&lt;";
        break;
      case '>':
        html += "&gt;";
        break;
      case '"':
        html += "&quot;";
        break;
      case '\'':
        html += "&#39;";
        break;
      default:
        html += c;
    }
  }
  return html;
}

std::string report_html(const std::vector<ReportInBoth>& reports, const PageParts& parts) {
  const Report& first = reports.at(0).si;
  const std::string title = escaped(
      reports.size() == 1 ? first.title : fmt::format("{} and {} more", first.title, reports.size() - 1));
  const std::string units = first.units == "us" ? "us" : "si";
  PageWriter writer(reports);
  std::string html = "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
  html += fmt::format(
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src 'sha256-{}'; "
      "style-src 'sha256-{}'; img-src data: blob:; base-uri 'none'; form-action 'none'\">\n",
      parts.scripts_hash, parts.style_hash);
  html += fmt::format(
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"generator\" "
      "content=\"{}\">\n<title>{}</title>\n<style>{}</style>\n</head>\n",
      escaped(first.program), title, parts.style);
  html += fmt::format(
      "<body data-units=\"{}\">\n<header><h1>{}</h1><p class=\"kind\">{}</p><p class=\"program\">{}</p>\n",
      units, title, escaped(first.kind), escaped(first.program));
  html +=
      "<div class=\"bar\"><fieldset><legend>Units</legend>"
      "<label><input type=\"radio\" name=\"units\" value=\"us\"> lb/acre, in, degF</label>"
      "<label><input type=\"radio\" name=\"units\" value=\"si\"> kg/ha, mm, degC</label></fieldset>"
      "<button type=\"button\" data-print=\"all\">Print</button></div></header>\n";
  html += writer.contents() + "<main>\n" + writer.body() + "</main>\n";
  html += fmt::format(
      "<footer><details><summary>Licences of what draws the charts</summary><pre "
      "tabindex=\"0\">{}</pre></details></footer>\n",
      escaped(parts.licences));
  html += fmt::format(
      "<script type=\"application/json\" "
      "id=\"chart-theme\">{}</script>\n<script>{}</script>\n</body>\n</html>\n",
      json_text(json::parse(parts.theme)), parts.scripts);
  return html;
}

}  // namespace stoverturn
