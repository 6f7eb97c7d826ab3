import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('buildlog', '0006_unread_entries'),
    ]

    operations = [
        migrations.RenameModel('Outlook', 'SavedForecast'),
        migrations.RemoveConstraint('savedforecast', 'one_outlook_a_day'),
        migrations.AddConstraint(
            'savedforecast', models.UniqueConstraint(fields=('build', 'day'), name='one_forecast_a_day'),
        ),
        migrations.AlterField(
            model_name='savedforecast',
            name='build',
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name='forecasts', to='buildlog.build'
            ),
        ),
    ]
