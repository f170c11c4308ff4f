// SPDX-License-Identifier: MIT
// An evening's pencil. Entries are parted by ";" or by line ends; words by blanks. What is not understood is refused
// with its column, and then nothing of the whole is taken.
//
//     done 3 4 5 | done 3-5 of page 12     steps of `steps`; a page is named by the entries that its log had
//     stage passed heaters, full line      of `powerup`, by name, by a piece of it or by number
//     PART... out | lifted | back          removed; one end free; put back as it was
//     PART in [.022/630 | 470k 1W | 42]    a new one, with its value, or of the value that the file has
//     PART omit WHY                        stays out on purpose
//     PART... proved | original            measured or tested, and good; as the file has it after all
//     PART 412k                            a value read of it
//     PART open | shorted | burnt ...      what it was found to be, in the words of `seen` in the file
//     PIN[-PIN] = 235V[@121V] [on 20k/V][, warm-up]    a reading: V, Vac, ohms, mA, W; black clip on the second pin;
//                                          and the places that the sheet of the power-up prints: lamp across it
//     line 121V | meter 20k/V              for the readings that follow
//     sign H11 WORDS                       a rule that the log cannot know is kept, and why
//     photo FILE [WORDS] | note TEXT
//     C9 is now C9A                        the file calls it otherwise since
//     undo [N...]                          the last entry, or these; an undo can be undone
//
// Quotation marks keep ";" and blanks. Where a step's number means one thing on a page printed now and another on the
// page that was last logged from, done or open there, it is refused with both. A step is done until a page lists it
// again. Tests: tests/record/pencil_test.cpp.
#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <set>

#include <tubewright/policy.hpp>

#include "chassis/data.hpp"
#include "record/fields.hpp"
#include "record/numbers.hpp"
#include "terms/csv.hpp"
#include "terms/near.hpp"
#include "terms/period_value.hpp"

namespace tubewright {
namespace {

using namespace record;

/// A semicolon within a field of a sheet: it parts no entries.
constexpr char inner_semicolon = '\x1f';
void as_written(std::string& text) {
    std::replace(text.begin(), text.end(), inner_semicolon, ';');
}

struct Word {
    std::string text;
    std::size_t from = 0, to = 0;  ///< in the input, quotation marks included
    bool quoted = false;
};

/// What is wrong, at a place in the input.
struct Wrong {
    int number;
    std::size_t at;
    std::string message, remedy;
};

char lower(char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
}
std::string lowered(std::string_view text) {
    std::string out(text);
    std::transform(out.begin(), out.end(), out.begin(), lower);
    return out;
}
bool is_number(std::string_view text) {
    return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos && text.size() < 7;
}
int number_of(std::string_view text) {
    int value = 0;
    std::from_chars(text.data(), text.data() + text.size(), value);
    return value;
}
std::string trimmed(std::string_view text) {
    while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
    return std::string(text);
}

struct Verb {
    std::string_view word;
    LogFact fact;
};
constexpr std::array verbs{
    Verb{"out", LogFact::removed},      Verb{"removed", LogFact::removed}, Verb{"pulled", LogFact::removed},
    Verb{"lifted", LogFact::lifted},    Verb{"lift", LogFact::lifted},     Verb{"back", LogFact::back},
    Verb{"in", LogFact::fitted},        Verb{"fitted", LogFact::fitted},   Verb{"new", LogFact::fitted},
    Verb{"replaced", LogFact::fitted},  Verb{"omit", LogFact::omitted},    Verb{"omitted", LogFact::omitted},
    Verb{"proved", LogFact::proved},    Verb{"good", LogFact::proved},     Verb{"tested", LogFact::proved},
    Verb{"original", LogFact::original}};
constexpr std::array<std::string_view, 10> heads{"done",  "stage", "line", "meter",  "sign",
                                                 "photo", "note",  "undo", "passed", "step"};

class Pencil {
  public:
    Pencil(std::string_view text, const PencilBench& bench)
        : text_(text), bench_(bench), line_(bench.line_volts), meter_(bench.meter) {
        if (text_.starts_with("\xEF\xBB\xBF")) text_.replace(0, 3, "   ");
        // the minus sign of a typesetter, as long as it was
        for (const char* dash : {"\xE2\x88\x92", "\xE2\x80\x93", "\xE2\x80\x94"})  // and the dashes of a telephone
            for (std::size_t at = 0; (at = text_.find(dash, at)) != std::string::npos;) text_.replace(at, 3, "-");
        for (char& c : text_)
            if ((static_cast<unsigned char>(c) < 0x20 && c != '\n' && c != inner_semicolon) || c == 0x7f) c = ' ';
        const Progress now = progress_of(bench.before, bench.chassis, bench.catalogue);
        state_ = now.parts;
        for (const auto& [id, with] : now.fitted) new_.insert(id);
        before_.assign(bench.before.begin(), bench.before.end());
        for (const auto& [key, value] : bench.chassis.data().defaults)
            if (key == "m-means") m_means_ = value == "thousand" ? MMeans::thousand : MMeans::million;
    }

    Outcome<std::vector<LogEntry>> read() {
        for (std::size_t at = 0; at < text_.size();) {
            bool quoted = false;
            std::size_t end = at;
            for (; end < text_.size() && text_[end] != '\n' && (quoted || text_[end] != ';'); ++end)
                quoted = quoted != (text_[end] == '"');
            phrase(at, end);
            at = end + 1;
        }
        of_another_set();
        if (wrong_.empty() && made_.empty() && text_.find_first_not_of(" \n;") != std::string::npos)
            refuse(messages::pencil_unknown, 0, "a line or a meter is of the readings behind it, and there are none",
                   "such as: line 118V; V4.3 = 235V; or --line 118V");
        else if (wrong_.empty() && made_.empty())
            refuse(messages::pencil_unknown, 0, "nothing is written", "such as: \"C9 out; C9 in .022/630\"");
        for (LogEntry& one : made_)
            for (const Field& field : fields())
                if (const auto* member = std::get_if<std::string LogEntry::*>(&field.member)) as_written(one.**member);
        if (wrong_.empty()) return std::move(made_);
        std::vector<Notice> notices;
        for (Wrong& wrong : wrong_) {
            as_written(wrong.message);
            as_written(wrong.remedy);
            Notice notice;
            notice.number = wrong.number;
            notice.message = wrong.message;
            notice.remedy = wrong.remedy;
            notice.place.line = 1;
            std::size_t from = 0;
            for (std::size_t k = 0; k < wrong.at && k < text_.size(); ++k)
                if (text_[k] == '\n') {
                    ++notice.place.line;
                    from = k + 1;
                }
            notice.place.column = 1;
            for (std::size_t k = from; k < wrong.at && k < text_.size(); ++k)
                notice.place.column += (static_cast<unsigned char>(text_[k]) & 0xC0U) != 0x80U ? 1 : 0;
            notices.push_back(std::move(notice));
        }
        return notices;
    }

  private:
    void refuse(int number, std::size_t at, std::string message, std::string remedy) {
        wrong_.push_back({number, at, std::move(message), std::move(remedy)});
    }
    void not_understood(const Word& word, std::string remedy) {
        refuse(messages::pencil_unknown, word.from, quoted(word.text) + " is not understood", std::move(remedy));
    }

    std::vector<Word> words_of(std::size_t from, std::size_t to) const {
        std::vector<Word> words;
        for (std::size_t at = from; at < to;) {
            if (text_[at] == ' ') {
                ++at;
                continue;
            }
            Word word;
            word.from = at;
            if (text_[at] == '"') {
                const std::size_t close = std::min(text_.find('"', at + 1), to);
                word.text = text_.substr(at + 1, close - at - 1);
                word.quoted = true;
                at = std::min(close + 1, to);
            } else {
                while (at < to && text_[at] != ' ' && text_[at] != '"') word.text += text_[at++];
            }
            word.to = at;
            words.push_back(std::move(word));
        }
        return words;
    }
    /// The rest of the phrase as it was written, without the quotation marks that hold all of it.
    std::string rest_from(const std::vector<Word>& words, std::size_t k) const {
        if (k >= words.size()) return {};
        if (k + 1 == words.size() && words[k].quoted) return words[k].text;
        return trimmed(std::string_view(text_).substr(words[k].from, words.back().to - words[k].from));
    }

    LogEntry& entry(LogFact fact) {
        LogEntry made;
        made.fact = fact;
        made.pencil = phrase_;
        made_.push_back(std::move(made));
        return made_.back();
    }

    void phrase(std::size_t from, std::size_t to) {
        const std::vector<Word> words = words_of(from, to);
        if (words.empty()) return;
        phrase_ = trimmed(std::string_view(text_).substr(from, to - from));
        std::string head = lowered(words[0].text);
        if (head.size() > 1 && head.back() == ':') head.pop_back();
        const bool is_part = part_of(words[0].text) >= 0;
        if (phrase_.find('=') != std::string::npos && head != "note" && head != "photo" && !words[0].quoted)
            return reading(from, to);
        if (!is_part && !words[0].quoted) {
            if (head == "done" || head == "step" || head == "steps") return done(words);
            if (head == "stage" || head == "passed") return stage(words);
            if (head == "undo") return undo(words);
            if (head == "note" || head == "photo" || head == "sign" || head == "signed" || head == "line" ||
                head == "meter")
                return small(head, words);
        }
        parts(words);
    }

    // note, photo, sign, line, meter
    void small(const std::string& head, const std::vector<Word>& words) {
        if (words.size() < 2)
            return not_understood(words[0], head == "photo"   ? "name the file of the photograph"
                                            : head == "note"  ? "write the note behind it"
                                            : head == "line"  ? "such as: line 121V"
                                            : head == "meter" ? "such as: meter 20k/V"
                                                              : "which rule: sign H11");
        if (head == "line") {
            if (const std::optional<double> volts = line_volts(rest_from(words, 1), words[1].from)) line_ = *volts;
        } else if (head == "meter") {
            if (is_a_meter(rest_from(words, 1), words[1].from)) meter_ = rest_from(words, 1);
        } else if (head == "note") {
            entry(LogFact::note).words = rest_from(words, 1);
        } else if (head == "photo") {
            // a name may hold blanks: it ends with its ending
            std::size_t end = 1;
            const auto has_ending = [&](std::size_t k) {
                const std::size_t dot = words[k].text.rfind('.');
                return dot != std::string::npos && dot + 1 < words[k].text.size() && words[k].text.size() - dot <= 5;
            };
            if (!words[1].quoted && !has_ending(1))
                for (std::size_t k = 2; k < std::min<std::size_t>(words.size(), 5) && end == 1; ++k)
                    if (has_ending(k)) end = k;
            LogEntry& made = entry(LogFact::photo);
            made.part = end == 1 ? words[1].text : text_.substr(words[1].from, words[end].to - words[1].from);
            made.words = rest_from(words, end + 1);
        } else {
            std::string rule = words[1].text;
            if (!rule.empty()) rule[0] = lower(rule[0]) == 'h' ? 'H' : lower(rule[0]);
            if (rule.size() < 2 || (rule[0] != 'H' && rule[0] != 's') || !is_number(std::string_view(rule).substr(1)) ||
                number_of(std::string_view(rule).substr(1)) > 23)
                return not_understood(words[1], "a rule of the bench, H0 to H23");
            static constexpr std::array<std::string_view, 6> seen{"H5", "H6", "H7", "H8", "H9", "H17"};
            if (std::find(seen.begin(), seen.end(), rule) != seen.end())
                return refuse(messages::pencil_state, words[1].from,
                              rule + " is not signed: the log sees for itself what is out, new and proved",
                              "enter what was done; or powerup FILE --override \"" + rule + "=why\"");
            if (words.size() < 3)
                return refuse(messages::pencil_unknown, words[1].to, "a signature needs its reason",
                              "such as: sign " + rule + " \"speaker plugged, seen\"");
            LogEntry& made = entry(LogFact::signed_by_hand);
            made.part = rule;
            made.words = rest_from(words, 2);
        }
    }

    /// Volts that a line or a battery may have.
    std::optional<double> line_volts(const std::string& text, std::size_t at) {
        constexpr double least = 1, most = 600;
        const Outcome<double> volts = read_value(text, Measure::volts);
        if (!volts) {
            value_refused(at, text, volts.notices().front());
            return std::nullopt;
        }
        if (*volts >= least && *volts <= most) return *volts;
        refuse(messages::pencil_value, at, quoted(text) + " is no line", "such as: 121V");
        return std::nullopt;
    }
    bool is_a_meter(const std::string& text, std::size_t at) {
        const Outcome<Meter> meter = read_meter(text);
        if (!meter)
            refuse(messages::pencil_value, at, quoted(text) + " is no meter: " + meter.notices().front().message,
                   meter.notices().front().remedy + "; what else is to be said of it: a condition, behind a comma");
        return static_cast<bool>(meter);
    }

    int part_of(const std::string& name) const {
        if (const int exact = bench_.chassis.part(name); exact >= 0) return exact;
        int found = -1;
        for (std::size_t i = 0; i < bench_.chassis.parts().size(); ++i)
            if (lowered(bench_.chassis.parts()[i].id) == lowered(name)) {
                if (found >= 0) return -1;
                found = static_cast<int>(i);
            }
        return found;
    }
    /// Of a can, its sections.
    std::vector<int> parts_of(const std::string& name) const {
        if (const int one = part_of(name); one >= 0) return {one};
        std::vector<int> sections;
        for (std::size_t i = 0; i < bench_.chassis.parts().size(); ++i)
            if (const Part& part = bench_.chassis.parts()[i];
                !part.can.empty() && lowered(part.can.str()) == lowered(name))
                sections.push_back(static_cast<int>(i));
        return sections;
    }
    const Part& part(int i) const { return bench_.chassis.parts()[static_cast<std::size_t>(i)]; }

    void no_such_part(const Word& word) {
        std::vector<std::string_view> ids(heads.begin(), heads.end());
        for (const Part& one : bench_.chassis.parts()) ids.push_back(one.id);
        const std::string near = nearest(word.text, ids);
        if (bench_.chassis.net(word.text) >= 0)
            return refuse(messages::pencil_unknown, word.to, "what does " + word.text + " read?",
                          "a reading is written " + word.text + " = 235V");
        if (std::any_of(bench_.before.begin(), bench_.before.end(),
                        [&](const LogEntry& e) { return e.part == word.text && e.fact < LogFact::reading; }))
            return refuse(messages::pencil_part, word.from, word.text + " is in the log and stands in the file no more",
                          "where it is called otherwise now: " + word.text + " is now ID");
        // what is only a part's name in other letters is no news of a word
        refuse(messages::pencil_part, word.from,
               "no part " + quoted(word.text) + " stands in the file, and it is no word of the log",
               near.empty() ? (word.text.find('.') != std::string::npos && word.text.find('-') != std::string::npos
                                   ? "a reading has its = : " + word.text + " = 7.4 ohms"
                                   : "tubewright log --help lists the words")
                            : "did you mean " + near + "?");
    }

    // PART... VERB ..., PART VALUE, PART is now ID
    void parts(const std::vector<Word>& words) {
        std::vector<int> which;
        std::size_t k = 0;
        for (; k < words.size(); ++k) {
            std::string name = words[k].text;
            while (!name.empty() && (name.back() == ',' || name.back() == ':')) name.pop_back();
            if (k > 0 && lowered(name) == "and") continue;
            const std::vector<int> found = parts_of(name);
            if (found.empty()) break;
            which.insert(which.end(), found.begin(), found.end());
        }
        if (which.empty()) {
            // one that is gone from the file, and is called otherwise now
            if (words.size() == 4 && lowered(words[1].text) == "is" && lowered(words[2].text) == "now")
                return renamed(words);
            return no_such_part(words[0]);
        }
        if (k == words.size())
            return refuse(messages::pencil_unknown, words.back().to, "what of " + words.back().text + "?",
                          "out, lifted, back, in, omit, proved, or a value");
        std::string said = lowered(words[k].text);
        if (k + 1 < words.size() && (said == "reads" || said == "read" || said == "measures" || said == "measured"))
            said = lowered(words[++k].text);
        const auto verb = std::find_if(verbs.begin(), verbs.end(), [&](const Verb& v) { return v.word == said; });
        if (verb == verbs.end()) {
            if (which.size() == 1) return value(which[0], words, k);
            const auto& known = seen_words();
            if (std::find(known.begin(), known.end(), said) == known.end()) return no_verb(words[k]);
            const std::size_t wrong = wrong_.size();
            for (const int i : which)
                if (wrong_.size() == wrong) found_to_be(part(i), words, k);
            return;
        }
        if (verb->fact == LogFact::fitted && k + 2 < words.size() && lowered(words[k + 1].text) == "with") ++k;
        const std::string with = rest_from(words, k + 1);
        const bool takes_words = verb->fact == LogFact::fitted || verb->fact == LogFact::omitted;
        const bool one_end = verb->fact == LogFact::lifted && (lowered(with) == "one end" || lowered(with) == "an end");
        if (!with.empty() && !takes_words && !one_end)
            return not_understood(words[k + 1], "\"" + said + "\" ends the entry; \";\" begins another");
        if (verb->fact == LogFact::omitted && with.empty())
            return refuse(messages::pencil_unknown, words[k].to, "a part that is left out on purpose needs the reason",
                          "such as: " + part(which[0]).id + " omit \"no longer needed\"");
        if (which.size() > 1 && verb->fact == LogFact::fitted && !with.empty())
            return refuse(messages::pencil_value, words[k + 1].from, "one value for several parts",
                          "write each part with its own");
        for (const int i : which) state(part(i), verb->fact, with, words, k);
    }

    void no_verb(const Word& word) {
        std::vector<std::string_view> known;
        for (const Verb& v : verbs) known.push_back(v.word);
        known.insert(known.end(), seen_words().begin(), seen_words().end());
        const std::string near = nearest(word.text, known);
        refuse(messages::pencil_unknown, word.from,
               quoted(word.text) + " is no part of the file and no word of the log",
               near.empty() ? "out, lifted, back, in, omit, proved, a value, or what it is: open, shorted, burnt; "
                              "what else is to be kept: note " +
                                  phrase_.substr(0, 40)
                            : "did you mean \"" + near + "\"?");
    }

    void state(const Part& one, LogFact fact, const std::string& with, const std::vector<Word>& words, std::size_t k) {
        const auto known = state_.find(one.id);
        const PartState now = known == state_.end() ? PartState::original : known->second;
        const bool out = now == PartState::removed || now == PartState::lifted;
        if (fact == LogFact::back && !out && now != PartState::omitted)
            return refuse(messages::pencil_state, words[k].from, one.id + " is not out by the log",
                          "\"in\" is for a new part, \"original\" for a slip");
        if ((fact == LogFact::removed && now == PartState::removed) ||
            (fact == LogFact::lifted && now == PartState::lifted))
            return refuse(messages::pencil_state, words[k].from, one.id + " is " + word(now) + " already by the log",
                          "leave it out of the line");
        LogEntry made;
        made.fact = fact;
        made.part = one.id;
        made.was = described(one, bench_.chassis);
        made.words = with;
        made.pencil = phrase_;
        if (fact == LogFact::fitted && !with.empty() && !fitted_with(one, with, words[k + 1].from, made)) return;
        if (fact == LogFact::fitted && one.kind != PartKind::fuse) odd(one, made);
        if (fact == LogFact::fitted && bench_.at_sight)
            if (const std::string wrong =
                    bench_.at_sight(one.id, {with, made.value, made.rated_volts, made.rated_watts, {}, nullptr});
                !wrong.empty())
                made.look = wrong + ": it does not do, and is bought again";
        const bool moved = fact == LogFact::removed || fact == LogFact::lifted || fact == LogFact::back;
        if (moved && new_.count(one.id) > 0) made.words = the_new_one;
        if (fact == LogFact::fitted) new_.insert(one.id);
        if (fact == LogFact::original) new_.erase(one.id);
        if (fact == LogFact::fitted && with.empty() && out && now == PartState::lifted)
            made.look = "a NEW one by the log; \"back\" is for the old one put back";
        state_[one.id] = fact == LogFact::removed   ? PartState::removed
                         : fact == LogFact::lifted  ? PartState::lifted
                         : fact == LogFact::fitted  ? PartState::fitted
                         : fact == LogFact::omitted ? PartState::omitted
                         : fact == LogFact::proved  ? PartState::proved
                                                    : PartState::original;
        made_.push_back(std::move(made));
    }

    void value_refused(std::size_t at, const std::string& text, const Notice& why) {
        const auto column = static_cast<std::size_t>(std::max(1, why.place.column)) - 1;
        refuse(messages::pencil_value, at + std::min(column, text.empty() ? 0 : text.size() - 1), why.message,
               why.remedy);
    }

    /// Farads and volts of a print; at the bench a figure without a unit is of the size that the part has.
    Outcome<CapacitorPrint> capacitor(const Part& one, const std::string& text) const {
        const std::size_t whole = text.find_first_not_of("0123456789.");
        // "22n/630", as a new part is marked
        if (whole != std::string::npos && whole > 0 &&
            (text[whole] == 'n' || text[whole] == 'p' || text[whole] == 'u') &&
            (whole + 1 == text.size() || text[whole + 1] == '/' || text[whole + 1] == ' '))
            return capacitor(one, text.substr(0, whole + 1) + "F" + text.substr(whole + 1));
        Outcome<CapacitorPrint> read = read_capacitor(text);
        const std::size_t digits = std::min(text.find_first_not_of("0123456789."), text.size());
        if (read || digits == 0 || !one.farads) return read;
        const std::string rest = text.substr(digits);
        // less than one is microfarads, whatever stands there
        if (rest.empty() && (text[0] == '.' || text.starts_with("0.")))
            if (Outcome<CapacitorPrint> micro = read_capacitor(text + " mfd")) return micro;
        if (rest.find_first_not_of("0123456789.-/@ Vv") != std::string::npos) return read;
        for (const char* unit : {" mfd", " mmf"}) {
            const Outcome<CapacitorPrint> meant = read_capacitor(text.substr(0, digits) + unit + rest);
            if (meant && meant->farads < 3 * *one.farads && meant->farads > *one.farads / 3) return meant;
        }
        return read;
    }

    /// The M of a meter and of a new part is a million; where that cannot be meant, it is as the diagram has it.
    Outcome<double> resistance(const Part& one, const std::string& text) const {
        Outcome<double> read = read_value(text, Measure::ohms, MMeans::million);
        if (!read || !one.ohms || m_means_ != MMeans::thousand || (*read<3 * *one.ohms&& * read> * one.ohms / 3))
            return read;
        const Outcome<double> drawn = read_value(text, Measure::ohms, m_means_);
        return drawn && *drawn<3 * *one.ohms&& * drawn> * one.ohms / 3 ? drawn : read;
    }

    /// Another size than the file has: a slip of the pencil, or of the tracer's.
    void odd(const Part& one, LogEntry& made) const {
        constexpr double sizes = 3;
        const OptionalNumber& right = one.kind == PartKind::capacitor ? one.farads : one.ohms;
        // a class is rated for the line, in alternating volts
        if (made.rated_volts && one.rated_volts && *made.rated_volts < *one.rated_volts && !has_a_class(made.words))
            made.look = "of " + say(volts(*made.rated_volts)) + "; the file's was of " + say(volts(*one.rated_volts)) +
                        ": see what shop asks for";
        if (!made.value || !right || *right <= 0) return;
        const double ratio = *made.value / *right;
        if (ratio > 1 / sizes && ratio < sizes) return;
        const double times = ratio > 1 ? ratio : 1 / ratio;
        std::array<char, 16> room{};
        const auto end = std::to_chars(room.data(), room.data() + room.size(), std::llround(times));
        made.look = std::string(room.data(), end.ptr) + " times " +
                    (ratio > 1 ? "what the file has" : "less than the file has") +
                    (made.look.empty() ? "" : "; " + made.look);
    }

    /// Without the words of its class and sort, wherever they stand: ".0068 uF Y2 capacitor, 250 V AC".
    static bool is_a_figures_unit(const std::string& low) {
        static constexpr std::array<std::string_view, 23> units{
            "uf",    "uf.", "mf",   "mfd",   "mfd.", "mmf", "mmfd", "pf",   "nf",     "f",    "v",  "volt",
            "volts", "w",   "watt", "watts", "k",    "m",   "meg",  "megs", "megohm", "ohms", "ohm"};
        return std::find(units.begin(), units.end(), low) != units.end();
    }
    static std::string figures_of(const std::string& with) {
        std::string figures;
        for (std::string_view rest = with; !rest.empty();) {
            const std::size_t end = std::min(rest.find(' '), rest.size());
            std::string one(rest.substr(0, end));
            rest.remove_prefix(std::min(end + 1, rest.size()));
            while (!one.empty() && one.back() == ',') one.pop_back();
            const std::string low = lowered(one);
            const bool word = !low.empty() && low[0] >= 'a' && low[0] <= 'z' && !is_a_figures_unit(low);
            if (!one.empty() && !word) figures += (figures.empty() ? "" : " ") + one;
        }
        return figures.find_first_of("0123456789") == std::string::npos ? with : figures;
    }
    /// The first word of a new part's print that is neither a figure nor of its class or sort; where nothing is, empty.
    static std::string stranger_in(const std::string& with) {
        static constexpr std::array<std::string_view, 66> sorts{"film",
                                                                "paper",
                                                                "ceramic",
                                                                "mica",
                                                                "electrolytic",
                                                                "polypropylene",
                                                                "polyester",
                                                                "mylar",
                                                                "oil",
                                                                "tantalum",
                                                                "capacitor",
                                                                "resistor",
                                                                "control",
                                                                "pot",
                                                                "carbon",
                                                                "composition",
                                                                "comp",
                                                                "metal",
                                                                "oxide",
                                                                "wirewound",
                                                                "wire-wound",
                                                                "power",
                                                                "radial",
                                                                "axial",
                                                                "rated",
                                                                "line-rated",
                                                                "pulse-rated",
                                                                "pulse",
                                                                "safety",
                                                                "class",
                                                                "ac",
                                                                "vac",
                                                                "dc",
                                                                "vdc",
                                                                "new",
                                                                "old",
                                                                "stock",
                                                                "nos",
                                                                "or",
                                                                "and",
                                                                "np0",
                                                                "c0g",
                                                                "silver",
                                                                "in",
                                                                "series",
                                                                "two",
                                                                "with",
                                                                "of",
                                                                "low",
                                                                "esr",
                                                                "high",
                                                                "linear",
                                                                "log",
                                                                "audio",
                                                                "taper",
                                                                "tol",
                                                                "percent",
                                                                "each",
                                                                "for",
                                                                "the",
                                                                "a",
                                                                "high-temperature",
                                                                "mm",
                                                                "grade",
                                                                "hot",
                                                                "c"};
        for (std::string_view rest = with; !rest.empty();) {
            const std::size_t end = std::min(rest.find(' '), rest.size());
            std::string low = lowered(rest.substr(0, end));
            rest.remove_prefix(std::min(end + 1, rest.size()));
            while (!low.empty() && (low.back() == ',' || low.back() == ';')) low.pop_back();
            if (low.empty() || low[0] < 'a' || low[0] > 'z' || is_a_class(low) || is_a_figures_unit(low)) continue;
            if (std::find(sorts.begin(), sorts.end(), low) == sorts.end()) return low;
        }
        return {};
    }
    /// "x2", "y", "x1/y2"
    static bool is_a_class(std::string_view low) {
        if (low.empty() || (low[0] != 'x' && low[0] != 'y')) return false;
        return low.find_first_not_of("xy1234/") == std::string_view::npos;
    }
    static bool has_a_class(const std::string& with) {
        for (std::string_view rest = with; !rest.empty();) {
            const std::size_t end = std::min(rest.find(' '), rest.size());
            if (is_a_class(lowered(rest.substr(0, end)))) return true;
            rest.remove_prefix(std::min(end + 1, rest.size()));
        }
        return false;
    }

    bool fitted_with(const Part& one, const std::string& with, std::size_t at, LogEntry& made) {
        const bool of_figures = one.kind == PartKind::capacitor || one.kind == PartKind::resistor;
        if (const std::string stranger = of_figures ? stranger_in(with) : std::string(); !stranger.empty()) {
            const std::size_t place = at + std::min(lowered(with).find(stranger), with.size() - 1);
            if (!parts_of(stranger).empty())
                refuse(messages::pencil_unknown, place, "a comma does not end an entry", "\";\" begins another");
            else
                refuse(messages::pencil_unknown, place, quoted(stranger) + " is not understood of a new part",
                       "its value and rating, and of what it is made; how it stands is looked at by its step (plus "
                       "traced); what else is to be kept: note " +
                           one.id + " ...");
            return false;
        }
        if (one.kind == PartKind::capacitor) {
            const std::string text = figures_of(with);
            const Outcome<CapacitorPrint> read = capacitor(one, text);
            if (!read && with.find('-') != std::string::npos && !one.can.empty()) {
                refuse(messages::pencil_value, at,
                       quoted(with) + " is a can of several, and " + one.id + " is one section",
                       "each section by itself: " + one.id + " in 20/450");
                return false;
            }
            if (!read) {
                value_refused(at, with, read.notices().front());
                return false;
            }
            made.value = read->farads;
            made.quantity = "farads";
            if (read->volts) made.rated_volts = *read->volts;
        } else if (one.kind == PartKind::resistor || one.kind == PartKind::control ||
                   (is_resistance(one) && with.find_first_of("0123456789") != std::string::npos)) {
            const std::string figures = figures_of(with);
            std::size_t cut = std::min(figures.find_first_of(" /"), figures.size());
            const bool bare = cut < figures.size() && figures[cut] == ' ' && is_unit(figures.substr(cut + 1));
            // "430 ohm 2 W": the watts begin behind the unit
            if (const std::size_t end = std::min(figures.find_first_of(" /", cut + 1), figures.size());
                !bare && cut < figures.size() && figures[cut] == ' ' && is_unit(figures.substr(cut + 1, end - cut - 1)))
                cut = end;
            const std::string ohms_text = bare ? figures : figures.substr(0, cut);
            const Outcome<double> ohms = resistance(one, ohms_text);
            if (!ohms) {
                value_refused(at, ohms_text, ohms.notices().front());
                return false;
            }
            made.value = *ohms;
            made.quantity = "ohms";
            if (!bare && cut + 1 < figures.size()) {
                const Outcome<double> watts = read_value(figures.substr(cut + 1), Measure::watts);
                if (!watts) {
                    value_refused(at + cut + 1, figures.substr(cut + 1), watts.notices().front());
                    return false;
                }
                made.rated_watts = *watts;
            }
        } else if (one.kind == PartKind::fuse) {
            const Outcome<double> amps = read_value(with.substr(0, with.find(' ')), Measure::amps);
            if (amps) made.value = *amps;
            made.quantity = "amps";
        } else if (one.kind == PartKind::socket) {
            return tube(one, with, at);
        }
        return true;
    }
    /// A cord that is a resistor, and what takes its place.
    static bool is_resistance(const Part& one) { return one.kind == PartKind::cord && one.ohms && *one.ohms > 0; }
    static bool is_unit(const std::string& text) {
        const std::string word = lowered(text);
        return word == "meg" || word == "ohm" || word == "ohms" || word == "k" || word == "megohm" || word == "megs";
    }

    bool tube(const Part& one, const std::string& with, std::size_t at) {
        const TubeType* type = bench_.catalogue.tube(with);
        if (type == nullptr) {
            const std::vector<std::string> near = bench_.catalogue.nearest_tubes(with);
            refuse(messages::pencil_value, at, "the catalogue has no tube " + quoted(with),
                   near.empty() ? "the type as printed on the glass" : "did you mean " + near.front() + "?");
            return false;
        }
        if (one.type != nullptr && type->base != one.type->base) {
            refuse(messages::pencil_value, at,
                   "a " + type->type + " has another base than the " + one.type->type + " of " + one.id,
                   "a socket that was changed is traced again: write fitted=\"" + type->type + "\" in the file");
            return false;
        }
        return true;
    }

    void value(int i, const std::vector<Word>& words, std::size_t k) {
        const Part& one = part(i);
        const std::string text = rest_from(words, k);
        for (std::size_t next = k; next + 1 < words.size(); ++next)
            if (words[next].text.ends_with(',') &&
                (!parts_of(words[next + 1].text).empty() || is_place(words[next + 1].text)))
                return refuse(messages::pencil_unknown, words[next].to - 1, "a comma does not end an entry",
                              "\";\" begins another: " + one.id + " ...; " + words[next + 1].text + " ...");
        const bool starts_as_one = !text.empty() && (text[0] == '.' || (text[0] >= '0' && text[0] <= '9'));
        const std::string second = lowered(words[k].text);
        if (words.size() == k + 3 && second == "is" && lowered(words[k + 1].text) == "now") return renamed(words);
        if (!starts_as_one) return found_to_be(one, words, k);
        double read = 0;
        if (one.kind == PartKind::capacitor) {
            const Outcome<CapacitorPrint> farads = capacitor(one, text);
            if (!farads) return value_refused(words[k].from, text, farads.notices().front());
            read = farads->farads;
        } else if (one.kind == PartKind::resistor || one.kind == PartKind::control || one.kind == PartKind::coil ||
                   is_resistance(one)) {
            const Outcome<double> ohms = resistance(one, text);
            if (!ohms) return value_refused(words[k].from, text, ohms.notices().front());
            read = *ohms;
        } else {
            return refuse(messages::pencil_value, words[k].from,
                          "a value is read of a resistor, a control, a coil or a capacitor; " + one.id + " is a " +
                              std::string(word(one.kind)),
                          "name two of its leads: " + one.id + "." +
                              (one.leads.empty() ? std::string("a") : one.leads[0].name.str()) + "-... = 400 ohms");
        }
        LogEntry& made = entry(LogFact::value);
        made.part = one.id;
        made.was = described(one, bench_.chassis);
        made.words = text;
        made.value = read;
        made.quantity = one.kind == PartKind::capacitor ? "farads" : "ohms";
        made.meter = meter_;
        odd(one, made);
    }

    /// "open", "leaking cracked"
    void found_to_be(const Part& one, const std::vector<Word>& words, std::size_t k) {
        std::string all;
        for (std::size_t n = k; n < words.size(); ++n) {
            std::string word = lowered(words[n].text);
            if (word.ends_with(',')) word.pop_back();
            if (word == "short") word = "shorted";
            if (word == "leaky" || word == "leaks") word = "leaking";
            if ((word == "and" && n > k) || (word == "out" && all == "burnt")) continue;
            const auto& known = seen_words();
            if (std::find(known.begin(), known.end(), word) == known.end())
                return n == k ? no_verb(words[n])
                              : not_understood(words[n], "\"" + all + "\" ends the entry; \";\" begins another");
            all += (all.empty() ? "" : " ") + word;
        }
        LogEntry& made = entry(LogFact::value);
        made.part = one.id;
        made.was = described(one, bench_.chassis);
        made.words = all;
        made.meter = meter_;
    }

    /// Nothing goes into the log of another set, unless it is said that the set is called otherwise now.
    void of_another_set() {
        for (const LogEntry& e : bench_.before) {
            if (!is_of_another_set(e, bench_.chassis)) continue;
            const auto told = [&](const LogEntry& r) { return r.fact == LogFact::renamed && r.part == e.set_name; };
            if (std::any_of(bench_.before.begin(), bench_.before.end(), told) ||
                std::any_of(made_.begin(), made_.end(), told))
                continue;
            return refuse(messages::pencil_state, 0,
                          "this is the log of another set, " + quoted(e.set_name) + "; the file is " +
                              quoted(bench_.chassis.name()),
                          "where it is the same set: \"" + e.set_name + "\" is now \"" + bench_.chassis.name() +
                              "\"; else --log FILE");
        }
    }
    bool renamed_set(const std::string& old, const std::string& now) {
        if (now != bench_.chassis.name() ||
            std::none_of(bench_.before.begin(), bench_.before.end(),
                         [&](const LogEntry& e) { return e.set_name == old && old != now; }))
            return false;
        LogEntry& made = entry(LogFact::renamed);
        made.part = old;
        made.to = now;
        return true;
    }
    /// The entries that speak of the part old go over to `now`: of the same kind, and spoken of by none.
    bool may_take(const Word& old, const Word& word, const Part& now) {
        const std::vector<int> gone = undone(bench_.before);
        for (const auto* entries : {&before_, &made_})
            for (const LogEntry& e : *entries) {
                if (std::binary_search(gone.begin(), gone.end(), e.number)) continue;
                if (e.part == old.text && !e.was.empty() && e.fact != LogFact::renamed && !is_of_that_kind(e, now)) {
                    refuse(messages::pencil_state, word.from,
                           old.text + " was a " + e.was + "; " + now.id + " is a " + described(now, bench_.chassis),
                           "a part is called otherwise only where it is the same part");
                    return false;
                }
                const bool same = e.fact == LogFact::renamed && e.part == old.text;
                if (same || (e.part != now.id && e.to != now.id && !has_part(e.acts, now.id))) continue;
                refuse(messages::pencil_state, word.from, "the log speaks of " + now.id + " already: " + said(e),
                       "two parts cannot become one; undo what was entered wrongly");
                return false;
            }
        return true;
    }
    void renamed(const std::vector<Word>& words) {
        const Word &old = words[0], &now = words.back();
        if (renamed_set(old.text, now.text)) return;
        if (bench_.chassis.part(old.text) >= 0)
            return refuse(messages::pencil_state, old.from, old.text + " stands in the file still",
                          "rename it in the file first");
        const int found = part_of(now.text);
        if (found < 0) return no_such_part(now);
        const bool known = std::any_of(bench_.before.begin(), bench_.before.end(), [&](const LogEntry& e) {
            return e.part == old.text || has_part(e.acts, old.text);
        });
        if (!known) return refuse(messages::pencil_part, old.from, "the log says nothing of " + quoted(old.text), "");
        if (!may_take(old, now, part(found))) return;
        LogEntry& made = entry(LogFact::renamed);
        made.part = old.text;
        made.to = part(found).id;
        made.was = described(part(found), bench_.chassis);
    }
    static bool has_part(const std::string& acts, const std::string& id) {
        for (const PlannedAct& act : decode(acts))
            if (std::find(act.deed.parts.begin(), act.deed.parts.end(), id) != act.deed.parts.end()) return true;
        return false;
    }

    /// A pin, a net or a word of the sheet; a part alone is none.
    bool is_place(const std::string& name) const {
        return is_a_place(name, bench_.chassis) && (bench_.chassis.net(name) >= 0 || bench_.chassis.part(name) < 0);
    }
    /// "v4.3" for V4.3
    std::string with_its_id(const std::string& name) const {
        const std::size_t dot = name.rfind('.');
        if (is_place(name) || dot == std::string::npos) return name;
        const int found = part_of(name.substr(0, dot));
        return found < 0 ? name : part(found).id + lowered(name.substr(dot));
    }
    /// "lamp across it", "line at the plug": place and black clip as the sheet of the power-up prints them.
    static void as_the_sheet_has_it(std::string& at, std::string& black) {
        static constexpr std::array<std::pair<std::string_view, std::string_view>, 7> printed{
            {{"lamp", "across it"},
             {"set", "behind the lamp"},
             {"line", "in series"},
             {"line", "at the plug"},
             {"joined blades", "each touchable part"},
             {"each touchable part", "earth through 47 k"},
             {"each touchable part", "earth through 1.5 k and .15 uf"}}};
        const std::string low = lowered(at);
        for (const auto& [place, clip] : printed)
            if (low == std::string(place) + " " + std::string(clip) ||
                low == std::string(place) + "-" + std::string(clip)) {
                at = place;
                black = clip;
            }
    }

    // PIN[-PIN] = VALUE[@LINE] [on METER][, CONDITIONS]; PART = VALUE
    void reading(std::size_t from, std::size_t to) {
        const std::string whole = text_.substr(from, to - from);
        const std::size_t equals = whole.find('=');
        std::string at = trimmed(std::string_view(whole).substr(0, equals)), black;
        const std::size_t at_from = from + std::min(whole.find_first_not_of(' '), whole.size());
        std::string behind = whole.substr(equals + 1);
        std::size_t value_from = from + equals + 1;
        while (!behind.empty() && behind.front() == ' ') {
            behind.erase(0, 1);
            ++value_from;
        }
        if (const std::size_t lead = at.find(" in its lead");
            lead != std::string::npos && part_of(at.substr(0, lead)) >= 0) {
            at = at.substr(0, lead);
            black = "in its lead";
        }
        as_the_sheet_has_it(at, black);
        if (!is_place(at)) at = with_its_id(at);
        if (black.empty() && !is_place(at) && part_of(at) >= 0) {
            const std::vector<Word> rest = words_of(value_from, to);
            if (rest.empty()) return refuse(messages::pencil_value, value_from, "no value behind \"=\"", "");
            return value(part_of(at), rest, 0);
        }
        if (black.empty() && !is_place(at)) {
            for (const std::string_view between : {"-", " to "})
                for (std::size_t cut = at.find(between); cut != std::string::npos && black.empty();
                     cut = at.find(between, cut + 1))
                    if (const std::string red = with_its_id(trimmed(at.substr(0, cut))),
                        clip = with_its_id(trimmed(at.substr(cut + between.size())));
                        is_place(red) && is_place(clip)) {
                        black = clip;
                        at = red;
                    }
            if (black.empty()) return no_such_net(at, at_from);
        }
        LogEntry made;
        made.fact = LogFact::reading;
        made.part = at;
        made.to = black;
        made.pencil = phrase_;
        made.meter = meter_;
        if (line_ > 0) made.line_volts = line_;
        for (std::size_t comma = behind.find(','); comma != std::string::npos; comma = behind.find(',', comma + 1)) {
            const auto digit = [&](std::size_t k) { return k < behind.size() && behind[k] >= '0' && behind[k] <= '9'; };
            if (comma > 0 && digit(comma - 1) && digit(comma + 1))
                return refuse(messages::pencil_value, value_from + comma, "a decimal point is a point",
                              "such as: " + behind.substr(0, comma) + "." + behind.substr(comma + 1));
        }
        // the figure, then in any order and with commas or without: a line, a meter, conditions
        std::string figure;
        bool first = true;
        first_of_reading_ = value_from;
        for (std::size_t begin = 0; begin <= behind.size();) {
            const std::size_t end = std::min(behind.find(',', begin), behind.size());
            std::string piece = behind.substr(begin, end - begin);
            if (!said_with(piece, value_from + begin, made)) return;
            if (first)
                figure = piece;
            else if (!piece.empty())
                made.conditions += (made.conditions.empty() ? "" : ", ") + piece;
            first = false;
            begin = end + 1;
        }
        if (quantity(trimmed(figure), value_from, made)) made_.push_back(std::move(made));
    }

    /// Takes "@LINE", "at LINE" and "on METER" out of a piece of a reading; what stands behind their figure is a
    /// condition.
    bool said_with(std::string& piece, std::size_t at, LogEntry& made) {
        const std::string whole = piece;
        const auto cut = [&](std::size_t from, std::size_t skip, std::size_t to) {
            const std::string text = trimmed(std::string_view(piece).substr(from + skip, to - from - skip));
            piece = piece.substr(0, from) + (to < piece.size() ? piece.substr(to) : std::string());
            return text;
        };
        // the longest run of words that can be read; the rest is a condition
        const auto split = [&](std::string& text, const auto& reads) {
            for (std::size_t end = text.size(); end != std::string::npos && end > 0; end = text.rfind(' ', end - 1))
                if (reads(text.substr(0, end))) {
                    const std::string rest = trimmed(text.substr(end));
                    if (!rest.empty()) made.conditions += (made.conditions.empty() ? "" : ", ") + rest;
                    text = text.substr(0, end);
                    return;
                }
        };
        // "with 20k/V" names a meter; "with the lid off" does not
        for (std::size_t with = 0; (with = piece.find("with ", with)) != std::string::npos; ++with) {
            const std::string next = piece.substr(with + 5, piece.find(' ', with + 5) - with - 5);
            if ((with == 0 || piece[with - 1] == ' ') && read_meter(next)) piece.replace(with, 4, "on");
        }
        const bool is_meter = piece.find("/V") != std::string::npos || piece.find("/v") != std::string::npos;
        const std::string bare = trimmed(piece);
        if (at != first_of_reading_ && is_meter && read_meter(bare)) {
            made.meter = bare;
            piece.clear();
        } else if (at != first_of_reading_ && !bare.empty() && bare.back() != '%' && read_value(bare, Measure::volts) &&
                   (bare.back() == 'V' || bare.back() == 'v')) {
            piece = "@" + bare;
        }
        const std::size_t on = piece.starts_with("on ") ? 0 : piece.find(" on ");
        if (on != std::string::npos) {
            const std::size_t from = on + (on == 0 && piece.starts_with("on ") ? 3 : 4);
            const std::size_t to = std::min({piece.find('@', from), piece.find(" at ", from), piece.size()});
            std::string meter = cut(on, from - on, to);
            const std::size_t place = at + std::min(whole.find(meter), whole.size() - 1);
            split(meter, [](const std::string& text) { return static_cast<bool>(read_meter(text)); });
            if (!is_a_meter(meter, place)) return false;
            made.meter = meter;
        }
        std::size_t sign = piece.find('@'), skip = 1;
        if (sign == std::string::npos && piece.starts_with("at ")) sign = 0, skip = 3;
        if (sign == std::string::npos && (sign = piece.find(" at ")) != std::string::npos) skip = 4;
        if (sign != std::string::npos) {
            std::string line = cut(sign, skip, piece.size());
            const std::size_t place = at + std::min(whole.find(line), whole.size() - 1);
            for (const char* word : {" line", " on the line"})
                if (line.ends_with(word)) line = line.substr(0, line.size() - std::string_view(word).size());
            split(line, [](const std::string& text) { return static_cast<bool>(read_value(text, Measure::volts)); });
            const std::optional<double> volts = line_volts(line, place);
            if (!volts) return false;
            made.line_volts = *volts;
        }
        piece = trimmed(piece);
        return true;
    }

    void no_such_net(const std::string& name, std::size_t at) {
        std::vector<std::string_view> names;
        for (const Net& net : bench_.chassis.nets()) names.push_back(net.name);
        const std::string near = nearest(name, names);
        refuse(messages::pencil_part, at, quoted(name) + " is no pin, net or part of the file",
               near.empty() ? "a pin is written V4.3; two of them V4.3-V4.5, the black clip on the second"
                            : "did you mean " + near + "?");
    }

    bool quantity(std::string figure, std::size_t at, LogEntry& made) {
        made.words = figure;
        double sign = 1;
        if (!figure.empty() && (figure[0] == '-' || figure[0] == '+')) {
            sign = figure[0] == '-' ? -1 : 1;
            figure = trimmed(figure.substr(1));
        }
        const std::size_t digits = std::min(figure.find_first_not_of("0123456789./ "), figure.size());
        std::string unit = lowered(figure.substr(digits));
        Measure measure = Measure::ohms;
        const auto is = [&](std::initializer_list<std::string_view> known) {
            return std::find(known.begin(), known.end(), unit) != known.end();
        };
        if (is({"v", "vdc", "v dc", "volts", "mv", "kv"})) {
            measure = Measure::volts;
            made.quantity = "volts dc";
        } else if (is({"vac", "v ac", "ac", "volts ac", "v~", "v ~", "~"})) {
            measure = Measure::volts;
            made.quantity = "volts ac";
            figure = figure.substr(0, digits) + "V";
        } else if (is({"a", "ma", "ua", "amps", "amp"})) {
            measure = Measure::amps;
            made.quantity = "amps";
        } else if (is({"w", "watts", "watt", "mw"})) {
            measure = Measure::watts;
            made.quantity = "watts";
        } else if (is({"open", "ol", "o.l.", "o.l"}) && digits == 0) {
            made.quantity = "ohms";
            return true;
        } else {
            made.quantity = "ohms";
        }
        if (unit.empty() && digits > 0) {
            refuse(messages::pencil_value, at, quoted(figure) + " has no unit",
                   "write " + figure + "V, " + figure + "Vac or " + figure + " ohms");
            return false;
        }
        const std::string number = figure.substr(0, digits);
        if (digits > 0 && number.find_first_of("123456789") == std::string::npos &&
            number.find('0') != std::string::npos) {
            made.value = 0.0;
            return true;
        }
        // the M of a meter is a million, whatever the diagram means by it
        const Outcome<double> read = read_value(figure, measure, MMeans::million);
        if (!read) {
            value_refused(at, figure, read.notices().front());
            return false;
        }
        constexpr double most_volts = 20000;  // no set of this kind has more
        if (measure == Measure::volts && *read > most_volts) {
            refuse(messages::pencil_value, at, quoted(figure) + " stands in no set", "the figure and its unit again");
            return false;
        }
        made.value = sign * *read;
        return true;
    }

    const PlanPage* page(int entries, bool stages, std::size_t at) {
        const auto known = pages_.find({entries, stages});
        if (known != pages_.end()) return &known->second;
        Outcome<PlanPage> made;
        if (bench_.page) made = bench_.page(entries, stages);
        if (made) return &pages_.emplace(std::pair(entries, stages), std::move(*made)).first->second;
        refuse(messages::pencil_step, at,
               std::string("there is no ") + (stages ? "power-up" : "plan") + " of this set to take the number from" +
                   (made.notices().empty() ? "" : ": " + made.notices().front().message),
               "enter the parts by their names");
        return nullptr;
    }
    int last_page() const {
        int last = 0;
        for (const LogEntry& e : bench_.before)
            if (e.fact == LogFact::done && e.plan >= 0) last = e.plan;
        return last;
    }
    bool entered_now(const std::string& id) const {
        return std::any_of(made_.begin(), made_.end(),
                           [&](const LogEntry& e) { return e.fact == LogFact::done && e.step_id == id; });
    }
    /// As done in this line, or by the log: there a step is open again when the page of now lists it.
    bool step_done(const std::string& id, const PlanPage& now) const {
        const std::vector<int> gone = undone(bench_.before);
        const auto is = [&](const LogEntry& e) {
            return e.fact == LogFact::done && e.step_id == id &&
                   std::find(gone.begin(), gone.end(), e.number) == gone.end();
        };
        if (std::any_of(made_.begin(), made_.end(), is)) return true;
        return std::any_of(bench_.before.begin(), bench_.before.end(), is) &&
               std::none_of(now.steps.begin(), now.steps.end(), [&](const PlannedStep& s) { return s.id == id; });
    }
    /// The log took this number from that page.
    bool taken_from(int number, const PlanPage& page) const {
        const std::vector<int> gone = undone(bench_.before);
        return std::any_of(bench_.before.begin(), bench_.before.end(), [&](const LogEntry& e) {
            return e.fact == LogFact::done && e.plan == page.entries && e.step == number &&
                   !std::binary_search(gone.begin(), gone.end(), e.number);
        });
    }
    static const PlannedStep* find(const PlanPage& page, int number) {
        for (const PlannedStep& one : page.steps)
            if (one.number == number) return &one;
        return nullptr;
    }

    // done 3 4 5 | done 3-5, 8 [of page 12]
    void done(const std::vector<Word>& words) {
        const int now = bench_.before.empty() ? 0 : bench_.before.back().number;
        int asked = -1;
        std::size_t end = words.size();
        for (std::size_t k = 1; k + 1 < words.size(); ++k)
            if (lowered(words[k].text) == "of") {
                const Word& last = words.back();
                const std::size_t dash = std::min(last.text.find('-'), last.text.size());
                const std::string number = last.text.substr(0, dash);
                if (!is_number(number) || number_of(number) > now || k + 3 < words.size())
                    return refuse(messages::pencil_step, last.from, quoted(last.text) + " is no page of this log",
                                  "`steps` says at its head which page it is; one printed without a log is page 0");
                asked = number_of(number);
                const PlanPage* meant = page(asked, false, words[0].from);
                if (meant == nullptr) return;
                if (dash < last.text.size() && !meant->print.starts_with(lowered(last.text.substr(dash + 1))))
                    return refuse(messages::pencil_which_page, last.from,
                                  "page " + last.text + " was asked for otherwise: its steps have other numbers here",
                                  "give log the --hours, --budget and --policy that `steps` had");
                end = k;
                break;
            }
        std::vector<std::pair<int, const Word*>> numbers;
        for (std::size_t k = 1; k < end; ++k) {
            std::string_view text = words[k].text;
            if (lowered(text) == "and" || text == "&" || (k > 1 && k + 1 == end && lowered(text) == "done") ||
                (k == 1 && (lowered(text) == "steps" || lowered(text) == "step")))
                continue;
            while (!text.empty()) {
                const std::size_t comma = std::min(text.find(','), text.size());
                const std::string_view one = text.substr(0, comma);
                text.remove_prefix(std::min(comma + 1, text.size()));
                if (one.empty()) continue;
                const std::size_t dash = one.find('-');
                const std::string_view first = one.substr(0, dash),
                                       last = dash == std::string_view::npos ? first : one.substr(dash + 1);
                if (!is_number(first) || !is_number(last) || number_of(last) < number_of(first) ||
                    number_of(last) - number_of(first) > 999)
                    return not_understood(words[k], "numbers of `steps`: done 3 4 5, or done 3-5");
                for (int n = number_of(first); n <= number_of(last); ++n) numbers.emplace_back(n, &words[k]);
            }
        }
        if (numbers.empty()) return not_understood(words[0], "which steps: done 3 4 5");
        const PlanPage* current = page(asked >= 0 ? asked : now, false, words[0].from);
        const PlanPage* before = asked >= 0 ? current : page(std::min(last_page(), now), false, words[0].from);
        if (current == nullptr || before == nullptr) return;
        // a step of an older page that was entered before is open where the page of now lists it
        const bool entered = std::any_of(numbers.begin(), numbers.end(), [&](const auto& n) {
            const PlannedStep* one = find(*current, n.first);
            return one != nullptr && step_done(one->id, PlanPage{});
        });
        const PlanPage* listed = asked >= 0 && entered ? page(now, false, words[0].from) : current;
        if (listed == nullptr) return;
        for (const auto& [number, where] : numbers) {
            const std::size_t wrong = wrong_.size();
            step(number, *where, *current, *before, *listed, asked >= 0);
            if (wrong_.size() > wrong && find(*current, number) == nullptr) break;  // nor any that is higher
        }
    }

    /// named: its page was; of a file that was not edited since it is the page of these options.
    void step(int number, const Word& where, const PlanPage& current, const PlanPage& before, const PlanPage& now,
              bool named) {
        const PlannedStep *here = find(current, number), *there = find(before, number);
        const auto open = [&](const PlannedStep* one) {
            return one != nullptr && ((one->again && !entered_now(one->id)) || !step_done(one->id, now));
        };
        if (!open(here) && !open(there)) {
            if (here == nullptr)
                return refuse(messages::pencil_step, where.from,
                              "the plan has no step " + std::to_string(number) + " (it has " +
                                  std::to_string(current.steps.size()) + ")",
                              "`steps` lists them");
            return refuse(messages::pencil_step, where.from,
                          "step " + std::to_string(number) + " is done already: " + here->does.substr(0, 50),
                          "leave it out of the line");
        }
        // A number that the last page gave already may be the same line sent twice.
        const bool both =
            open(here) && there != nullptr && here->id != there->id && (open(there) || taken_from(number, before));
        if (both)
            return refuse(messages::pencil_which_page, where.from,
                          "step " + std::to_string(number) + " is \"" + here->does.substr(0, 60) +
                              "\" on a page printed now (page " + std::to_string(current.entries) + "), and \"" +
                              there->does.substr(0, 60) + "\" on page " + std::to_string(before.entries) +
                              (open(there) ? "" : ", where it is done already"),
                          "write done " + std::to_string(number) + " of page " + std::to_string(current.entries) +
                              (open(there) ? ", or of page " + std::to_string(before.entries)
                                           : std::string(" where it is that one")));
        const PlanPage& from = open(here) ? current : before;
        for (const LogEntry& e : bench_.before)
            if (e.fact == LogFact::done && e.plan == from.entries && e.plan_print != from.print &&
                !(named && !bench_.set_print.empty() && e.set_print == bench_.set_print))
                return refuse(messages::pencil_which_page, where.from,
                              "page " + std::to_string(from.entries) + " is not what it was when entry " +
                                  std::to_string(e.number) + " was logged from it",
                              "the chassis file was edited since, or `steps` was asked otherwise (--hours, --policy): "
                              "print it again, or enter the parts by their names");
        const PlannedStep& meant = open(here) ? *here : *there;
        const std::string broken = in_order(broken_by(meant.acts, false));
        LogEntry& made = entry(LogFact::done);
        if (!broken.empty())
            made.look = "past a gate that is shut by the log (" + broken +
                        "): it does not count as passed until these are entered and it is gone through again, or "
                        "overridden";
        made.words = meant.does;
        made.step = number;
        made.step_id = meant.id;
        made.acts = encode(meant.acts);
        made.plan = from.entries;
        made.plan_print = from.print;
        for (const PlannedAct& act : meant.acts) follow(act.deed);
    }
    void follow(const Deed& deed) {
        const auto to = deed.act == "fit"      ? PartState::fitted
                        : deed.act == "lift"   ? PartState::lifted
                        : deed.act == "remove" ? PartState::removed
                                               : PartState::original;
        const bool moves = to != PartState::original || deed.act == "connect again" || deed.act == "put the tube back";
        for (const std::string& id : deed.parts) {
            if (moves) state_[id] = to;
            if (to == PartState::fitted) new_.insert(id);
        }
    }

    static bool is_touch(const PlannedStep& stage) {
        return std::any_of(stage.acts.begin(), stage.acts.end(),
                           [](const PlannedAct& act) { return act.deed.act == "touch current"; });
    }
    bool has_touch_reading() const {
        const auto is = [](const LogEntry& e) { return e.fact == LogFact::reading && e.part == "each touchable part"; };
        return std::any_of(made_.begin(), made_.end(), is) ||
               std::any_of(bench_.before.begin(), bench_.before.end(), is);
    }
    /// What the log says against it that a stage is passed.
    std::string against(const PlannedStep& stage, const PlanPage& sheet) const {
        std::string why, before;
        if (const std::string rules = shut_before(stage, sheet); !rules.empty())
            why = "its gate is shut by the log (" + rules + ")";
        for (const PlannedStep& one : sheet.stages) {
            if (one.number < stage.number && !one.passed && (!one.shut.empty() || is_powered(one)) && !passed_now(one))
                before += (before.empty() ? "" : ", ") + std::to_string(one.number);
        }
        if (!before.empty()) why += (why.empty() ? "" : "; ") + std::string("not passed before it: stage ") + before;
        if (is_touch(stage) && !has_touch_reading())
            why +=
                (why.empty() ? "" : "; ") + std::string("no reading of it is in the log (each touchable part = ...)");
        if (const std::string out = tubes_out(stage); !out.empty())
            why += (why.empty() ? "" : "; ") + std::string("out of their sockets by the log: ") + out;
        return why;
    }
    bool passed_now(const PlannedStep& stage) const {
        return std::any_of(made_.begin(), made_.end(),
                           [&](const LogEntry& e) { return e.fact == LogFact::stage && e.step_id == stage.id; });
    }
    /// The rules that the log does not prove of the stage and of those before it that are not passed, after what the
    /// line has entered so far.
    std::string shut_before(const PlannedStep& stage, const PlanPage& sheet) const {
        std::vector<std::string> rules = broken_by(stage.acts, true);
        const auto known = [&](const std::string& rule) {
            return std::find(rules.begin(), rules.end(), rule) != rules.end();
        };
        // what the sheet found shut, the line itself may have opened
        const bool entered =
            std::any_of(made_.begin(), made_.end(), [](const LogEntry& e) { return e.fact != LogFact::stage; });
        for (const PlannedStep& one : sheet.stages) {
            const bool itself = one.number == stage.number;
            if (one.number > stage.number || one.passed || (!itself && passed_now(one)) || (entered && bench_.breaks))
                continue;
            std::string_view left = one.shut;
            while (!left.empty()) {
                const std::size_t comma = std::min(left.find(", "), left.size());
                if (std::string rule(left.substr(0, comma)); !known(rule)) rules.push_back(std::move(rule));
                left.remove_prefix(std::min(comma + 2, left.size()));
            }
        }
        return in_order(std::move(rules));
    }
    /// "H2, H17", by their numbers.
    static std::string in_order(std::vector<std::string> rules) {
        std::sort(rules.begin(), rules.end(), [](const std::string& a, const std::string& b) {
            return number_of(std::string_view(a).substr(1)) < number_of(std::string_view(b).substr(1));
        });
        std::string list;
        for (const std::string& rule : rules) list += (list.empty() ? "" : ", ") + rule;
        return list;
    }
    std::vector<std::string> broken_by(const std::vector<PlannedAct>& acts, bool tubes_in) const {
        if (!bench_.breaks) return {};
        std::vector<LogEntry> so_far(bench_.before.begin(), bench_.before.end());
        so_far.insert(so_far.end(), made_.begin(), made_.end());
        return bench_.breaks(so_far, acts, tubes_in);
    }
    static bool is_powered(const PlannedStep& stage) {
        return std::any_of(stage.acts.begin(), stage.acts.end(),
                           [](const PlannedAct& act) { return act.deed.act.starts_with("power: "); });
    }
    /// The tubes that a stage runs with, and does not itself put in.
    std::string tubes_out(const PlannedStep& stage) const {
        const auto does = [&](const char* act) {
            return std::any_of(stage.acts.begin(), stage.acts.end(),
                               [&](const PlannedAct& one) { return one.deed.act == act; });
        };
        const bool heaters = does("power: heaters");
        if (!heaters && !does("power: B-plus behind the lamp") && !does("power: full line") && !does("soak")) return {};
        std::string list;
        for (const Part& one : bench_.chassis.parts()) {
            const auto known = state_.find(one.id);
            if (one.kind != PartKind::socket || one.type == nullptr || known == state_.end() ||
                known->second != PartState::removed || (heaters && one.type->is_rectifier()))
                continue;
            const bool goes_in = std::any_of(stage.acts.begin(), stage.acts.end(), [&](const PlannedAct& act) {
                return act.deed.act == "put the tube back" &&
                       std::find(act.deed.parts.begin(), act.deed.parts.end(), one.id) != act.deed.parts.end();
            });
            if (!goes_in) list += (list.empty() ? "" : ", ") + one.id;
        }
        return list;
    }

    // stage passed NAME | stage 5 passed | stage NAME passed
    void stage(const std::vector<Word>& words) {
        std::string name;
        std::size_t first = 0;
        for (std::size_t k = 0; k < words.size(); ++k) {
            const std::string text = lowered(words[k].text);
            if (text == "stage" || text == "passed") continue;
            if (name.empty()) first = k;
            name += (name.empty() ? "" : " ") + text;
        }
        if (name.empty()) return not_understood(words[0], "which stage: stage passed heaters, full line");
        const int now = bench_.before.empty() ? 0 : bench_.before.back().number;
        const PlanPage* sheet = page(now, true, words[0].from);
        if (sheet == nullptr) return;
        std::vector<const PlannedStep*> found;
        for (const PlannedStep& one : sheet->stages)
            if (is_number(name) ? one.number == number_of(name) : lowered(one.does) == name) found.push_back(&one);
        if (found.empty() && !is_number(name))
            for (const PlannedStep& one : sheet->stages)
                if (lowered(one.does).find(name) != std::string::npos) found.push_back(&one);
        if (found.size() != 1) {
            std::string list;
            for (const PlannedStep& one : sheet->stages)
                list += (list.empty() ? "" : "; ") + std::to_string(one.number) + " " + one.does;
            return refuse(messages::pencil_step, words[first].from,
                          quoted(name) + (found.empty() ? " is no stage of the power-up" : " fits several stages"),
                          "one of: " + list);
        }
        LogEntry& made = entry(LogFact::stage);
        made.words = found[0]->does;
        made.step = found[0]->number;
        made.step_id = found[0]->id;
        made.acts = encode(found[0]->acts);
        made.plan = now;
        made.look = against(*found[0], *sheet);
        for (const PlannedAct& act : found[0]->acts) follow(act.deed);
    }

    void undo(const std::vector<Word>& words) {
        const std::vector<int> gone = undone(bench_.before);
        const auto is_gone = [&](int n) { return std::find(gone.begin(), gone.end(), n) != gone.end(); };
        std::vector<std::pair<int, std::size_t>> targets;
        for (std::size_t k = 1; k < words.size(); ++k) {
            std::string text = words[k].text;
            if (!text.empty() && text.back() == ',') text.pop_back();
            if (!is_number(text)) return not_understood(words[k], "the number of an entry: undo 7");
            targets.emplace_back(number_of(text), words[k].from);
        }
        if (words.size() == 1) {
            if (std::any_of(made_.begin(), made_.end(), [](const LogEntry& e) { return e.fact != LogFact::undo; }))
                return refuse(messages::pencil_undo, words[0].from, "a line does not undo what it enters itself",
                              "leave that out of the line; an earlier entry by its number: undo 7");
            int last = 0;
            for (const LogEntry& e : bench_.before)
                if (e.fact != LogFact::undo && !is_gone(e.number) && undoing_.count(e.number) == 0) last = e.number;
            if (last == 0) return refuse(messages::pencil_undo, words[0].from, "there is no entry to undo", "");
            targets.emplace_back(last, words[0].from);
        }
        for (const auto& [number, at] : targets) {
            const auto found = std::find_if(bench_.before.begin(), bench_.before.end(),
                                            [n = number](const LogEntry& e) { return e.number == n; });
            if (found == bench_.before.end() || is_gone(number) || !undoing_.insert(number).second) {
                refuse(messages::pencil_undo, at,
                       "entry " + std::to_string(number) +
                           (found == bench_.before.end() ? " is not in the log" : " is undone already"),
                       "`log FILE --all` lists the entries");
                continue;
            }
            LogEntry& made = entry(LogFact::undo);
            made.target = number;
            LogEntry bare = *found;  // what was odd of it is so no more
            bare.look.clear();
            made.words = said(bare);
        }
    }

    std::string text_;
    const PencilBench& bench_;
    double line_ = 0;
    std::string meter_, phrase_;
    MMeans m_means_ = MMeans::unstated;
    std::size_t first_of_reading_ = 0;  ///< where the figure of a reading stands
    std::map<std::string, PartState> state_;
    std::map<std::pair<int, bool>, PlanPage> pages_;
    std::set<int> undoing_;
    std::set<std::string> new_;  ///< parts that are new ones by the log
    std::vector<LogEntry> before_, made_;
    std::vector<Wrong> wrong_;
};

}  // namespace

Outcome<std::vector<LogEntry>> read_pencil(std::string_view text, const PencilBench& bench) {
    return Pencil(text, bench).read();
}

namespace {

/// A field in the line of its row: whatever it holds, the row is one entry.
std::string in_its_row(const CsvField& field) {
    std::string text = trimmed(field.text);
    for (char& c : text)
        if (c == '\n' || c == '\r')
            c = ' ';
        else if (c == ';')
            c = inner_semicolon;
    return text;
}

/// A row of readings, one for each quantity that has a figure: "V4.3-V4.5 = 235V @121V on 20k/V, warm-up".
std::string readings_of_row(const CsvTable& table, const std::vector<CsvField>& record, std::size_t at) {
    std::string black, line, meter, conditions, text;
    std::vector<std::string> figures;
    const auto with_unit = [](const std::string& figure, const char* unit) {
        return figure.find_first_not_of("0123456789.+-/ ") == std::string::npos ? figure + unit : figure;
    };
    for (std::size_t k = 0; k < record.size(); ++k) {
        const std::string head = lowered(trimmed(table.header[k])), field = in_its_row(record[k]);
        if (k == at || field.empty()) continue;
        if (head == "black" || head == "black clip")
            black = "-" + field;
        else if (head == "line")
            line = " @" + with_unit(field, "V");
        else if (head == "meter")
            meter = " on " + field;
        else if (head == "conditions")
            conditions = ", " + field;
        else if (head == "volts" || head == "v")
            figures.push_back(with_unit(field, "V"));
        else if (head == "vac" || head == "volts ac")
            figures.push_back(with_unit(field, "Vac"));
        else if (head == "ohms")
            figures.push_back(with_unit(field, " ohms"));
        else if (head == "ma")
            figures.push_back(with_unit(field, "mA"));
        else
            figures.push_back(field);
    }
    for (const std::string& figure : figures)
        text += in_its_row(record[at]) + black + " = " + figure + line + meter + conditions + "\n";
    return text.empty() ? in_its_row(record[at]) + "\n" : text;
}

constexpr std::array<std::string_view, 3> places{"at", "pin", "net"};
constexpr std::array<std::string_view, 6> first_columns{"part", "what", "entry", "at", "pin", "net"};

/// Columns that no field of it would be taken by, each with its place.
std::vector<Notice> unknown_columns(const CsvTable& table, std::string_view csv, const std::string& name) {
    static constexpr std::array<std::string_view, 13> of_readings{
        "black", "black clip", "line", "meter", "conditions", "volts", "v",
        "vac",   "volts ac",   "ohms", "ma",    "reading",    "value"};
    static constexpr std::array<std::string_view, 16> of_parts{"part", "what", "entry", "did",       "state", "verb",
                                                               "fact", "with", "new",   "is",        "value", "words",
                                                               "why",  "line", "meter", "conditions"};
    const auto is_of = [](const auto& list, const std::string& head) {
        return std::find(list.begin(), list.end(), head) != list.end();
    };
    const bool readings = std::any_of(table.header.begin(), table.header.end(),
                                      [&](const std::string& head) { return is_of(places, lowered(trimmed(head))); });
    // a field of the header that is empty heads nothing
    std::vector<Notice> found;
    std::size_t from = csv.starts_with("\xEF\xBB\xBF") ? 3 : 0;
    int column = 1;
    for (const std::string& written : table.header) {
        const std::string head = lowered(trimmed(written));
        const bool known =
            head.empty() || (readings ? is_of(places, head) || is_of(of_readings, head) : is_of(of_parts, head));
        if (!known) {
            Notice notice;
            notice.number = messages::pencil_unknown;
            notice.place = {name, 1, column};
            notice.message = "nothing is known of a column " + quoted(written);
            notice.remedy = readings
                                ? "a sheet of readings has: at, black, volts, vac, ohms, ma, reading, line, meter, "
                                  "conditions"
                                : "a sheet of parts has: part, did, value, line, meter";
            found.push_back(std::move(notice));
        }
        bool quoted_field = false;
        for (; from < csv.size() && (quoted_field || (csv[from] != ',' && csv[from] != '\n')); ++from) {
            quoted_field = quoted_field != (csv[from] == '"');
            column += (static_cast<unsigned char>(csv[from]) & 0xC0U) != 0x80U ? 1 : 0;
        }
        ++from;
        ++column;
    }
    return found;
}

}  // namespace

bool is_a_sheet(std::string_view text) {
    std::string head = with_commas(text.substr(0, text.find_first_of("\r\n")));
    return head.find(',') != std::string::npos &&
           std::any_of(first_columns.begin(), first_columns.end(),
                       [&](auto one) { return trimmed(std::string_view(head).substr(0, head.find(','))) == one; });
}

Outcome<std::string> pencil_of_sheet(std::string_view written, const std::string& name) {
    const std::string csv = with_commas(written);
    const Outcome<CsvTable> table = read_csv(csv, name);
    if (!table) return table.notices();
    if (std::vector<Notice> unknown = unknown_columns(*table, csv, name); !unknown.empty()) return unknown;
    std::string pencil;
    const auto column = [&](std::initializer_list<std::string_view> names) {
        for (std::size_t k = 0; k < table->header.size(); ++k)
            if (const std::string head = lowered(trimmed(table->header[k]));
                std::find(names.begin(), names.end(), head) != names.end())
                return static_cast<int>(k);
        return -1;
    };
    const int at = column({places[0], places[1], places[2]});
    for (const auto& record : table->records) {
        if (at >= 0) {
            pencil += readings_of_row(*table, record, static_cast<std::size_t>(at));
            continue;
        }
        std::string line;
        for (std::size_t k = 0; k < record.size(); ++k) {
            const std::string field = in_its_row(record[k]);
            if (field.empty()) continue;
            const std::string head = lowered(trimmed(table->header[k]));
            line += (line.empty() ? "" : " ") +
                    std::string(head == "line"    ? "@"
                                : head == "meter" ? "on "
                                                  : "") +
                    field;
        }
        pencil += line + "\n";
    }
    return pencil;
}

}  // namespace tubewright
