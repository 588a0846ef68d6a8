/* The named calculations through their public header, as the command calls them. */
#include "base/text.h"
#include "bench/near.h"
#include "corewright/calc.h"
#include "support/random.h"
#include <stdio.h>
#include <string.h>

enum { MOST = 24 };

/* Splits an example as a shell does: blanks part, single quotes hold together. Returns how many. */
static size_t split(const char *example, char words[MOST][80])
{
    size_t count = 0;
    while (*example != '\0') {
        size_t size = 0;
        bool quoted = false;
        for (; *example != '\0' && (quoted || *example != ' '); example++) {
            if (*example == '\'')
                quoted = !quoted;
            else
                words[count][size++] = *example;
        }
        words[count++][size] = '\0';
        while (*example == ' ')
            example++;
    }
    return count;
}

static cw_status run(const char *name, const char *example, cw_calc_result *out)
{
    char words[MOST][80];
    const char *settings[MOST];
    size_t count = split(example, words);
    for (size_t i = 0; i < count; i++)
        settings[i] = words[i];
    return cw_calc_run(name, settings, count, out);
}

static const cw_calc_line *line_of(const cw_calc_result *result, const char *name)
{
    for (size_t i = 0; i < result->count; i++)
        if (strcmp(result->lines[i].name, name) == 0)
            return &result->lines[i];
    cr_assert_fail("no line %s", name);
    return NULL;
}

static double value(const char *name, const char *example, const char *line)
{
    static cw_calc_result out;
    cr_assert_eq(run(name, example, &out), CW_OK, "%s %s: %s", name, example, out.problem);
    return line_of(&out, line)->value;
}

static void wrong(const char *name, const char *example, const char *problem, const char *help)
{
    static cw_calc_result out;
    cw_status status = run(name, example, &out);
    cr_expect(status == CW_BAD_INPUT || status == CW_NOT_FOUND, "%s %s is taken", name, example);
    cr_expect_str_eq(out.problem, problem);
    cr_expect_str_eq(out.help, help);
    cr_expect_eq(out.count, 0);
}

Test(calc, every_one_explains_itself_and_its_example_works)
{
    const cw_calc *calc;
    size_t count = 0;
    for (; (calc = cw_calc_at(count)) != NULL; count++) {
        cw_calc_result out;
        cr_expect_eq(cw_calc_find(calc->name), calc);
        cr_expect_eq(run(calc->name, calc->example, &out), CW_OK, "%s: %s", calc->name, out.problem);
        cr_expect_gt(out.count, 0);
        for (size_t i = 0; i < calc->key_count; i++) {
            const cw_calc_key *key = cw_calc_key_at(calc, i);
            cr_expect(strlen(key->name) > 0 && strlen(key->means) > 0 && strlen(key->takes) > 0);
            if (key->usual == NULL)
                cr_expect_not_null(strstr(calc->example, key->name), "%s: %s is missing in the example",
                                   calc->name, key->name);
        }
        cr_expect_null(cw_calc_key_at(calc, calc->key_count));
    }
    cr_assert_eq(count, 14);
    cr_assert_null(cw_calc_find("nothing"));
    cr_assert_null(cw_calc_find(NULL));
}

/* What stands on the edge of what is allowed, and what lies just beyond it. */
Test(calc, edges)
{
    cr_assert_eq(value("drain", "capacity='60 Ah' amps='50 mA' least='100 %'", "days"), 0);
    NEAR(value("battery", "volts='15 V'", "charge"), 100, 1e-9);
    NEAR(value("pulley", "ratio=2 engine='1500 rpm' poles=2", "frequency"), 50, 1e-9);
    NEAR(value("pulley", "ratio=2 engine='1500 rpm' poles=64", "frequency"), 1600, 1e-9);
    wrong("drain", "capacity='60 Ah' amps='50 mA' least='101 %'", "a battery is never more than full",
          "write 80 %, or 0.8");
    wrong("cable", "gauge=8AWG length='6 ft' amps='90 A' sides=3", "sides: '3': this is too large",
          "sides takes 1 or 2");
    wrong("tones", "engine='1200 rpm' ratio=2.5 poles=1", "poles: '1': this is too small",
          "poles takes a whole number (12)");
    wrong("tones", "engine='1200 rpm' ratio=2.5 poles=3", "an odd number of poles",
          "poles come in pairs: count both kinds");
    wrong("tones", "engine='1200 rpm' ratio=2.5 rear_pitch='20 mm'", "there is no such bearing",
          "balls (3 or more), ball and pitch belong together; a ball is smaller than the pitch");
}

static const char *note(const char *name, const char *example)
{
    static cw_calc_result out;
    cr_assert_eq(run(name, example, &out), CW_OK);
    return out.note;
}

/* Only what can be known is said. */
Test(calc, a_pulley_says_no_more_than_it_knows)
{
    cw_calc_result out;
    cr_assert_eq(run("pulley", "ratio=2.5 poles=12", &out), CW_OK);
    cr_assert_eq(out.count, 1);
    cr_assert_eq(run("pulley", "rotor='5000 rpm' poles=12", &out), CW_OK);
    cr_assert_eq(out.count, 1);
    cr_assert_eq(run("pulley", "ratio=2.5 engine='2000 rpm'", &out), CW_OK);
    cr_assert_eq(out.count, 2);
}

Test(calc, notes_fit_the_case)
{
    cr_assert_not_null(strstr(note("battery", "volts='10.4 V'"), "dead cell"));
    cr_assert_null(strstr(note("battery", "volts='10.5 V'"), "dead cell"));
    cr_assert_null(note("pulley", "ratio=2 engine='800 rpm'"));
    cr_assert_null(note("pulley", "rotor='800 rpm' poles=12"));
    cr_assert_not_null(strstr(note("pulley", "driver='180 mm' driven='60 mm'"), "belt's line"));
    cr_assert_null(note("rotor", "ohms='3 ohm'"));
    cr_assert_not_null(note("rotor", "ohms='3 ohm' good='3 ohm'"));
}

/* A university's table has 0.6282 ohm for 1000 ft of gauge 8: 12 ft are 7.5384 mohm, at 90 A 0.67846 V
 * and 61.06 W. */
Test(calc, cable)
{
    NEAR(value("cable", "gauge=8AWG length='6 ft' amps='90 A'", "resistance"), 7.5384, 2e-4);
    NEAR(value("cable", "gauge=8AWG length='6 ft' amps='90 A'", "drop"), 0.67846, 2e-4);
    NEAR(value("cable", "gauge=8AWG length='6 ft' amps='90 A'", "heat"), 61.06, 3e-4);
    NEAR(value("cable", "gauge=8AWG length='6 ft' amps='90 A' joints='1 mohm'", "resistance"), 8.5384, 2e-4);
    NEAR(value("cable", "gauge=8AWG length='6 ft' amps='90 A' temperature='90 degC'", "resistance"), 9.6122,
         2e-4);
    NEAR(value("cable", "gauge=8AWG length='6 ft' amps='90 A' sides=1", "drop"), 0.33923, 2e-4);
    NEAR(value("cable", "gauge=8AWG length='1.8288 m' amps='90000 mA'", "drop"), 0.67846, 2e-4);
    /* 1.7241e-8 x 4 x 100 / 0.5 = 13.793 mm2, between gauges 6 (13.30) and 5 (16.77). */
    NEAR(value("cable", "length='2 m' amps='100 A' drop='500 mV'", "needed_area"), 13.793, 1e-4);
    cw_calc_result out;
    cr_assert_eq(run("cable", "length='2 m' amps='100 A' drop='500 mV'", &out), CW_OK);
    cr_assert_str_eq(line_of(&out, "needed_gauge")->words, "5 AWG");
    cr_assert(isnan(line_of(&out, "needed_gauge")->value));
    cr_assert_eq(run("cable", "length='2 m' amps='326 A' drop='500 mV'", &out),
                 CW_OK); /* 44.96; 1 has 42.41 */
    cr_assert_str_eq(line_of(&out, "needed_gauge")->words, "0 AWG");
    cr_assert_eq(run("cable", "length='20 m' amps='300 A' drop='500 mV'", &out), CW_OK);
    cr_assert_str_eq(line_of(&out, "needed_gauge")->words, "thicker than 4/0 AWG");
    cr_assert_eq(run("cable", "length='5 m' amps='200 A' drop='500 mV'", &out),
                 CW_OK); /* 68.96: 2/0 has 67.43 */
    cr_assert_str_eq(line_of(&out, "needed_gauge")->words, "3/0 AWG");
}

Test(calc, gauges_as_people_write_them)
{
    const char *same[][4] = {{"8 AWG", "AWG 8", "#8", "8 gauge"},
                             {"3/0 AWG", "000 AWG", "awg 3/0", "3/0ga"},
                             {"0 AWG", "1/0 AWG", "0ga", "#0"}};
    for (int i = 0; i < 3; i++)
        for (int k = 1; k < 4; k++) {
            char one[80], other[80];
            snprintf(one, sizeof one, "gauge='%s' length='1 m' amps='1 A'", same[i][0]);
            snprintf(other, sizeof other, "gauge='%s' length='1 m' amps='1 A'", same[i][k]);
            cr_expect_eq(value("cable", one, "area"), value("cable", other, "area"), "%s", same[i][k]);
        }
    NEAR(value("cable", "gauge='10 mm2' length='1 m' amps='1 A'", "area"), 10, 1e-12);
    NEAR(value("cable", "gauge='4/0 AWG' length='1 m' amps='1 A'", "area"), 107.2,
         1e-3); /* 11.684 mm across */
}

Test(calc, windings)
{
    NEAR(value("resistance", "ohms='3 ohm' from='100 degC'", "resistance"), 3 * 254.5 / 334.5, 1e-9);
    NEAR(value("heating", "cold='200 mohm' hot='210 mohm' air='25 degC'", "rise"), 7.725, 1e-9);
    NEAR(value("rotor", "ohms='3 ohm' volts='12 V'", "current"), 4, 1e-9);
    NEAR(value("rotor", "ohms='2.7 ohm' good='3 ohm'", "turns_missing"), 10, 1e-9);
    NEAR(value("rotor", "ohms='3.3 ohm' good='3 ohm'", "turns_missing"), 0, 1e-9);
    NEAR(value("setpoint", "volts='14.4 V' slope='-10 mV' temperature='80 degC'", "volts"), 13.8, 1e-9);
    NEAR(value("setpoint", "volts='14.4 V' slope='-10 mV' temperature='176 degF'", "volts"), 13.8, 1e-9);
}

Test(calc, battery_and_drain)
{
    NEAR(value("battery", "volts='12.55 V'", "charge"), 87.5, 1e-6);
    NEAR(value("battery", "volts='12.30 V' table=magazine", "charge"), 50, 1e-6);
    NEAR(value("drain", "capacity='60 Ah' amps='50 mA'", "days"), 25, 1e-9);
    NEAR(value("drain", "capacity='60 Ah' amps='50 mA' charge='75 %'", "hours"), 300, 1e-9);
}

Test(calc, turning)
{
    NEAR(value("output", "low='60 A' low_speed='1250 rpm' rated='86.60254 A' rated_speed='2000 rpm'",
               "cut_in"),
         1000, 1e-6);
    NEAR(value("output",
               "low='75 A' low_speed='2000 rpm' rated='93.75 A' rated_speed='4000 rpm' cut_in='1000 rpm' "
               "speed='1250 rpm'",
               "amps"),
         36, 1e-6);
    NEAR(value("output",
               "low='60 A' low_speed='1250 rpm' rated='86.60254 A' rated_speed='2000 rpm' amps='60 A'",
               "speed"),
         1250, 1e-6);
    NEAR(value("pulley", "driver='180 mm' driven='60 mm' engine='800 rpm' poles=12", "rotor"), 2300, 1e-9);
    NEAR(value("pulley", "driver='180 mm' driven='60 mm' engine='800 rpm' poles=12", "frequency"), 230, 1e-9);
    NEAR(value("pulley", "ratio=2.5 rotor='5000 rpm'", "engine"), 2000, 1e-9);
    NEAR(value("pulley", "rotor='5000 rpm' poles=12", "frequency"), 500, 1e-9);
    NEAR(value("belt", "width='21.36 mm' ribs=6", "pitch"), 3.56, 1e-9);
    cw_calc_result out;
    cr_assert_eq(run("belt", "width='21.36 mm' ribs=6", &out), CW_OK);
    cr_assert_str_eq(line_of(&out, "marking")->words, "6PK and the length in mm");
}

Test(calc, bearings_and_tones)
{
    cw_calc_result out;
    cr_assert_eq(run("bearing", "bore='17 mm' outside='47 mm'", &out), CW_OK);
    cr_assert_str_eq(line_of(&out, "name")->words, "6303");
    NEAR(line_of(&out, "width")->value, 14, 1e-9);
    NEAR(value("bearing", "name=6203-2RS", "outside"), 40, 1e-9);
    cr_assert_eq(run("bearing", "bore='17 mm' outside='90 mm'", &out), CW_OK);
    cr_assert_str_eq(line_of(&out, "name")->words, "none of the table");
    /* 8 balls, a quarter: 3, 5, .375 and twice 1.875, at 50 turns a second. */
    const char *shape = "balls=8 ball='5 mm' pitch='20 mm' speed='3000 rpm'";
    NEAR(value("flaws", shape, "outer"), 150, 1e-9);
    NEAR(value("flaws", shape, "inner"), 250, 1e-9);
    NEAR(value("flaws", shape, "ball"), 187.5, 1e-9);
    NEAR(value("flaws", shape, "cage"), 18.75, 1e-9);
    const char *tones =
        "engine='1200 rpm' ratio=2.5 poles=12 slots=36 balls=8 ball='5 mm' pitch='20 mm' tone='1800 Hz'";
    cr_assert_eq(run("tones", tones, &out), CW_OK);
    NEAR(line_of(&out, "slot")->value, 1800, 1e-9);
    NEAR(line_of(&out, "ripple")->value, 1800, 1e-9);
    cr_assert_eq(run("tones", "engine='1200 rpm' ratio=2.5 tone='150 Hz'", &out), CW_OK);
    cr_assert_str_eq(line_of(&out, "rotor")->words, "150 Hz (3-fold)");
    cr_assert_eq(run("tones",
                     "engine='1200 rpm' ratio=2.5 rear_balls=8 rear_ball='5 mm' rear_pitch='20 mm' blades=11 "
                     "driven='60 mm' belt='1697 mm'",
                     &out),
                 CW_OK);
    NEAR(line_of(&out, "rear_inner")->value, 250, 1e-9);
    NEAR(line_of(&out, "fan")->value, 550, 1e-9);
    NEAR(line_of(&out, "belt")->value, 5.92405, 1e-5); /* pi x 64 mm x 50 / 1.697 m */
    NEAR(line_of(&out, "crank")->value, 20, 1e-9);
    cr_assert_eq(run("tones", "engine='1200 rpm' ratio=2.5 tone='999 Hz'", &out), CW_OK);
    cr_assert_str_eq(line_of(&out, "none")->words, "nothing that was told turns or repeats so");
}

/* With ideal diodes, no battery and hardly any impedance an open diode leaves 5/6, an open winding 2/3. */
Test(calc, rectifier)
{
    const char *base =
        "diode=ideal battery='0 V' load='100 ohm' ohms='1e-3 ohm' inductance='0 uH' emf='100 V'";
    char with[200];
    snprintf(with, sizeof with, "%s open=b-", base);
    NEAR(value("rectifier", with, "mean_share"), 83.333, 1e-3);
    snprintf(with, sizeof with, "%s open=c", base);
    NEAR(value("rectifier", with, "mean_share"), 66.667, 1e-3);
    snprintf(with, sizeof with, "%s open='a+ b+'", base);
    NEAR(value("rectifier", with, "mean_share"), 50, 1e-3);
    NEAR(value("rectifier", base, "mean"), 165.4, 1e-3);
    NEAR(value("rectifier", base, "order_1"), 0, 1e-12);
    cr_assert_lt(value("rectifier", "shorted=a-", "current_share"), 25);
    NEAR(value("rectifier", "inductance='0.05 mH'", "mean"),
         value("rectifier", "inductance='50 \xc2\xb5H'", "mean"), 1e-9);
}

Test(calc, mistakes_are_told_whole)
{
    wrong("cabel", "", "there is no calculation 'cabel'", "did you mean 'cable'?");
    wrong("zzz", "", "there is no calculation 'zzz'", "'corewright calc' lists them");
    wrong("cable", "lenght='6 ft'", "cable has no key 'lenght'", "did you mean 'length'?");
    wrong("belt", "zzz=1", "belt has no key 'zzz'", "its keys are width, ribs, pitch");
    wrong("belt", "6", "'6' is no setting: key=value is wanted", "for example: width='21.4 mm' ribs=6");
    wrong("resistance", "from='60 degC'", "resistance wants 'ohms': what was measured",
          "for example: ohms='3.4 ohm' from='60 degC'");
    wrong("belt", "ribs=6 ribs=7", "'ribs' is given twice", "");
    wrong("belt", "width='3 V'", "width: '3 V': these are volts, not lengths",
          "width takes lengths (21.4 mm)");
    wrong("belt", "width=3", "width: '3': the unit is missing", "width takes lengths (21.4 mm)");
    wrong("belt", "width='0 mm'", "width: '0 mm': it must be above 0", "width takes lengths (21.4 mm)");
    wrong("belt", "width='-1 mm'", "width: '-1 mm': it must be above 0", "width takes lengths (21.4 mm)");
    wrong("belt", "ribs=0", "ribs: '0': it must be above 0", "ribs takes a whole number (6)");
    wrong("pulley", "poles=1", "poles: '1': this is too small", "poles takes a whole number (12)");
    wrong("belt", "ribs=61", "ribs: '61': this is too large", "ribs takes a whole number (6)");
    wrong("belt", "ribs=six", "ribs: 'six': this is no whole number", "ribs takes a whole number (6)");
    wrong("belt", "ribs=6", "belt wants the pitch of the ribs", "give width and ribs, or pitch");
    wrong("rectifier", "winding=dleta", "winding: 'dleta': there is no such choice", "did you mean 'delta'?");
    wrong("rectifier", "open=d+", "open: 'd+': there is no such part",
          "open takes diodes and windings ('a+ b-', 'c')");
    wrong("rectifier", "open=a+ shorted=a+", "one part is both open and shorted", "");
    wrong("rectifier", "inductance='5 V'", "inductance: '5 V': this is no inductance",
          "inductance takes an inductance (50 uH)");
    wrong("cable", "gauge=8 length='6 ft' amps='9 A'",
          "gauge: '8': gauge or square millimetres? AWG or mm2 is wanted behind it",
          "gauge takes a wire gauge or an area (8 AWG, 3/0 AWG, 10 mm2)");
    wrong("cable", "gauge='5/0 AWG' length='6 ft' amps='9 A'",
          "gauge: '5/0 AWG': there is no such gauge, 4/0 to 40",
          "gauge takes a wire gauge or an area (8 AWG, 3/0 AWG, 10 mm2)");
    wrong("cable", "gauge='41 AWG' length='6 ft' amps='9 A'",
          "gauge: '41 AWG': there is no such gauge, 4/0 to 40",
          "gauge takes a wire gauge or an area (8 AWG, 3/0 AWG, 10 mm2)");
    wrong("cable", "length='6 ft' amps='9 A'", "cable wants 'gauge' or 'drop'",
          "give gauge for the volts lost, drop for the cable needed, or both");
    wrong("cable", "length='6 ft' amps='90 A' drop='10 mV' joints='1 mohm'",
          "the joints alone lose more than that drop", "mend the joints, or allow more");
    wrong("bearing", "name=6207", "there is no bearing '6207' in the table",
          "it knows 6000 to 6006, 6200 to 6206 and 6300 to 6306");
    wrong("bearing", "", "bearing wants a name or dimensions",
          "give name, or what was measured of bore, outside and width");
    wrong("flaws", "balls=8 ball='20 mm' pitch='20 mm' speed='3000 rpm'", "there is no such bearing",
          "balls (3 or more), ball and pitch belong together; a ball is smaller than the pitch");
    wrong("tones", "engine='1200 rpm' ratio=2.5 balls=8", "there is no such bearing",
          "balls (3 or more), ball and pitch belong together; a ball is smaller than the pitch");
    wrong("pulley", "engine='800 rpm'", "the ratio of the pulleys is missing",
          "give driver and driven, or ratio");
    wrong("pulley", "rotor='800 rpm'", "the ratio of the pulleys is missing",
          "give driver and driven, or ratio");
    wrong("pulley", "poles=12", "the ratio of the pulleys is missing", "give driver and driven, or ratio");
    wrong("pulley", "ratio=2 engine='800 rpm' poles=7", "an odd number of poles",
          "poles come in pairs: count both kinds");
    wrong("pulley", "ratio=2 engine='800 rpm' rotor='800 rpm'", "'engine' and 'rotor' are both given",
          "give one, the other follows");
    wrong("output", "low='90 A' rated='45 A'", "no output curve runs through these points",
          "amps must rise with speed, and cut-in lie below the low speed");
    wrong("battery", "volts='25.2 V'", "no rested 12 V battery has so much",
          "halve the volts of a 24 V pair, or measure each");
    wrong("drain", "capacity='60 Ah' amps='50 mA' charge='120 %'", "a battery is never more than full",
          "write 80 %, or 0.8");
    wrong("battery", "volts='12.4 V' temperature='20 K'", "temperature: '20 K': this is too small",
          "temperature takes temperatures (0 degC, 80 degF)");
    wrong("heating", "cold='1 ohm' hot='100 ohm'", "no winding gets that hot",
          "were both measured on the same winding?");
    wrong("cable", "gauge='\xff'", "what is written there is no readable text", "write it in UTF-8");
}

Test(calc, a_wrong_call)
{
    cw_calc_result out;
    const char *const none[] = {NULL};
    cr_assert_eq(cw_calc_run(NULL, NULL, 0, &out), CW_BAD_CALL);
    cr_assert_eq(cw_calc_run("belt", NULL, 1, &out), CW_BAD_CALL);
    cr_assert_eq(cw_calc_run("belt", none, 1, &out), CW_BAD_CALL);
    cr_assert_eq(cw_calc_run("belt", NULL, 0, NULL), CW_BAD_CALL);
    cr_assert_null(cw_calc_key_at(NULL, 0));
}

/* Examples with bytes changed at random: an answer or a readable message, never anything else. */
Test(calc, damaged_settings)
{
    static const char spoil[] = "=0159.-+/% eVAmkKdegCFrpm'\xc2\xb5\xff,abc";
    random_state random = random_start(12);
    for (int round = 0; round < 6000; round++) {
        const cw_calc *calc = cw_calc_at(random_below(&random, 13)); /* the rectifier is slow to fuzz */
        char words[MOST][80];
        const char *settings[MOST];
        cw_calc_result out;
        size_t count = split(calc->example, words);
        for (uint32_t k = random_below(&random, 4); k > 0; k--) {
            char *word = words[random_below(&random, (uint32_t)count)];
            word[random_below(&random, (uint32_t)strlen(word))] =
                spoil[random_below(&random, sizeof spoil - 1)];
        }
        for (size_t i = 0; i < count; i++)
            settings[i] = words[i];
        cw_status status = cw_calc_run(calc->name, settings, count, &out);
        if (status == CW_OK) {
            for (size_t i = 0; i < out.count; i++)
                cr_assert(strlen(out.lines[i].words) > 0 && strlen(out.lines[i].label) > 0);
            continue;
        }
        cr_assert_eq(status, CW_BAD_INPUT);
        cr_assert_gt(strlen(out.problem), 0);
        cr_assert_eq(cw_utf8_error(out.problem, strlen(out.problem)), strlen(out.problem));
        cr_assert_eq(cw_utf8_error(out.help, strlen(out.help)), strlen(out.help));
    }
}
