from django.db import migrations, models

OPEN = models.Q(("state__in", ["waiting", "running"]))


class Migration(migrations.Migration):
    dependencies = [("reports", "0001_initial")]

    operations = [
        migrations.RemoveConstraint(model_name="report", name="one_open_report"),
        migrations.RemoveIndex(model_name="report", name="report_of_examination"),
        # Keys of examinations stay where they are, and become keys of whatever is told of.
        migrations.RenameField(model_name="report", old_name="examination", new_name="about"),
        migrations.AlterField(model_name="report", name="about", field=models.UUIDField()),
        migrations.AddField(
            model_name="report",
            name="kind",
            field=models.CharField(
                choices=[
                    ("examination", "Examination report"),
                    ("loan-check", "Loan check"),
                    ("treatment-proposal", "Treatment proposal"),
                    ("treatment-record", "Treatment record"),
                ],
                default="examination",
                max_length=20,
            ),
        ),
        migrations.AddConstraint(
            model_name="report",
            constraint=models.UniqueConstraint(
                condition=OPEN, fields=("kind", "about"), name="one_open_report"
            ),
        ),
        migrations.AddIndex(
            model_name="report",
            index=models.Index(fields=["kind", "about", "-asked_at"], name="report_about"),
        ),
    ]
