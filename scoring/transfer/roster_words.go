package transfer

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
)

// What columns of people are called, from memory: by letters and digits alone, in
// lower case. Earlier words win over later ones where a file has several.
var (
	// wholeWords are of the whole name.
	wholeWords = []string{"name", "fullname", "studentname", "student", "learner", "learnername", "participant", "displayname", "surnamefirstname", "lastnamefirstname", "firstnamelastname",
		"vollständigername", "nachnamevorname", "namevorname", "vornamename", "nomprénom", "nometprénom", "nomprenom", "nometprenom", "nombrecompleto", "nombreyapellidos", "apellidosynombre", "apellidosnombre",
		"nomecompleto", "nomecognome", "cognomenome", "nomeecognome", "cognomeenome", "volledigenaam", "naam", "namn", "navn", "nimi", "imięinazwisko", "nazwiskoiimię", "jménoapříjmení", "név", "adsoyad", "adısoyadı",
		"ονοματεπώνυμο", "фио", "імяпрізвище", "姓名", "氏名", "名前", "이름", "성명", "الاسم", "שם"}
	firstWords = []string{"firstname", "givenname", "givennames", "forename", "forenames", "vorname", "prénom", "prenom", "nombres", "voornaam", "förnamn", "fornavn", "etunimi", "imię", "keresztnév", "utónév", "adı", "όνομα", "имя", "имя", "імя", "名"}
	lastWords  = []string{"lastname", "surname", "familyname", "nachname", "familienname", "zuname", "nomdefamille", "apellidos", "apellido", "cognome", "sobrenome", "apelido", "achternaam", "efternamn", "etternavn", "efternavn", "sukunimi", "nazwisko", "příjmení", "vezetéknév", "soyad", "soyadı", "επώνυμο", "фамилия", "прізвище", "姓"}
	// eitherWords are the whole name alone, the surname beside a first name and the
	// first name beside a surname.
	eitherWords = []string{"name", "nom", "nombre", "nome", "naam", "namn", "navn", "jméno", "ad", "nume"}
	numberWords = []string{"studentid", "studentnumber", "studentno", "studentnr", "idnumber", "matriculationnumber", "matriculationno", "registrationnumber", "matrikelnummer", "matrikelnr", "matrikel", "matnr", "immatrikulationsnummer",
		"numéroétudiant", "numeroetudiant", "noétudiant", "numetudiant", "matrícula", "matricula", "númerodematrícula", "numerodematricula", "matricola", "numerodialunno", "númerodealuno", "studienummer", "studentennummer", "studentnummer", "opiskelijanumero",
		"numeralbumu", "nralbumu", "osobníčíslo", "neptunkód", "öğrencino", "öğrencinumarası", "αριθμόςμητρώου", "номерзачетки", "学号", "学籍番号", "학번", "sisuserid", "sisid", "id"}
	emailWords = []string{"email", "emailaddress", "mail", "emailadresse", "mailadresse", "courriel", "adressemail", "adresseemail", "correo", "correoelectrónico", "correoelectronico", "endereçodeemail", "indirizzoemail", "epost", "epostadress", "epostadresse", "sähköposti", "eposta", "электроннаяпочта", "邮箱", "电子邮件", "メールアドレス", "이메일"}
	// nobodyWords stand in the place of a name in gradebooks: what can be reached.
	nobodyWords = []string{"pointspossible", "possiblepoints", "maximumpoints", "maxpoints", "maximum", "outof", "höchstpunktzahl", "maximalpunktzahl", "puntosposibles", "pointspossibles"}
	rolesWords  = []string{"role", "rolle", "rôle", "rol", "ruolo", "roll", "papel"}
)

// roleWords are other words for what people are.
var roleWords = map[string]scoring.Role{"student": scoring.RoleLearner, "teacher": scoring.RoleInstructor}

// rosterWord brings a column's title into the form of the lists.
func rosterWord(title string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, title)
}

// wordsIn finds the columns by their words.
func wordsIn(cells []string, line int) (c rosterColumns, err error) {
	words := make([]string, len(cells))
	for i, cell := range cells {
		words[i] = rosterWord(cell)
	}
	one := func(list []string) int {
		for _, word := range list {
			i := slices.Index(words, word)
			if i < 0 {
				continue
			}
			if err == nil && slices.Contains(words[i+1:], word) {
				err = fault.New(fmt.Sprintf("line %d: the column %s stands there twice", line, strings.TrimSpace(cells[i])), "say which holds what: --name-columns, --id-column; or take one of them out")
			}
			return i
		}
		return -1
	}
	c.number, c.email, c.role = one(numberWords), one(emailWords), one(rolesWords)
	first, last, either := one(firstWords), one(lastWords), one(eitherWords)
	switch {
	case first >= 0 && last >= 0:
		c.names = []int{first, last}
	case first >= 0 && either >= 0:
		c.names = []int{first, either}
	case last >= 0 && either >= 0:
		c.names = []int{either, last}
	default:
		for _, i := range []int{one(wholeWords), either} {
			if i >= 0 && c.names == nil {
				c.names = []int{i}
			}
		}
	}
	return c, err
}

// nobody says of a line that it names no person.
func nobody(e Entry) bool {
	return e.Number == "" && e.Email == "" && slices.Contains(nobodyWords, rosterWord(e.Name))
}
